// `compare` as a user runs it: the exit code says whether something became worse.
#include "main/program.h"

using program::cart;
using program::Folder;
using program::has;
using program::Ran;
using program::run;

namespace {

std::string cart_with(const std::string& from, const std::string& to) {
  std::string text = texts::of_file(cart);
  const std::size_t at = text.find(from);
  REQUIRE(at != std::string::npos);
  return text.replace(at, from.size(), to);
}

}  // namespace

TEST_CASE("compare: exit 0 unchanged, 1 newly broken, 0 mended again, 3 newly undecided") {
  const Folder folder;
  const std::string broken =
      folder.write("broken.yaml", cart_with("rated: 15 A, volts: 32 V", "rated: 60 A, volts: 32 V"));
  const std::string lacking = folder.write("lacking.yaml", cart_with("breaks: 12 kA at 80 V, ", ""));
  const Ran same = run({"compare", cart, cart});
  CHECK(same.code == 0);
  CHECK(has(same.out, "nothing electrical changed"));
  CHECK(same.err.empty());
  const Ran worse = run({"compare", cart, broken});
  CHECK(worse.code == 1);
  CHECK(has(worse.out, "became worse"));
  CHECK(has(worse.out, "rated 15 A -> 60 A"));
  const Ran better = run({"compare", broken, cart});
  CHECK(better.code == 0);
  CHECK(has(better.out, "became better"));
  CHECK(run({"compare", cart, lacking}).code == 3);
  // What is broken in both is not worse.
  CHECK(run({"compare", broken, broken}).code == 0);
}

TEST_CASE("compare: JSON on request; unusable input 2, a full device 4") {
  const Folder folder;
  const Ran json = run({"compare", cart, cart, "--format", "json"});
  CHECK(json.code == 0);
  CHECK(json.out.starts_with("{\n  \"format\": 1,"));
  CHECK(run({"compare", cart}).code == 2);
  CHECK(run({"compare", cart, folder.at("missing")}).code == 2);
  CHECK(run({"compare", folder.write("bad.yaml", "loom: 1\n"), cart}).code == 2);
  CHECK(run({"compare", "-", "-"}).code == 2);
  CHECK(run({"compare", cart, cart, "--format", "xml"}).code == 2);
  const int full = ::open("/dev/full", O_WRONLY);
  REQUIRE(full >= 0);
  CHECK(run({.arguments = {"compare", cart, cart}, .out = full}).code == 4);
  ::close(full);
}
