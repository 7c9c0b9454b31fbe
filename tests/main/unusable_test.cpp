// Exit code 2: one clear error for each way in which a file or a command line cannot be used, and nothing on stdout.
#include <algorithm>

#include "main/program.h"

using program::Folder;
using program::has;
using program::Ran;
using program::run;

namespace {

void check_refused(const Ran& ran, std::string_view why) {
  CHECK(ran.code == 2);
  CHECK(ran.out.empty());
  CHECK_MESSAGE(has(ran.err, why), ran.err);
  CHECK(std::count(ran.err.begin(), ran.err.end(), '\n') == 1);
  CHECK(ran.err.starts_with("loomproof: "));
}

}  // namespace

TEST_CASE("files that cannot be read") {
  const Folder folder;
  check_refused(run({"check", folder.at("absent.yaml")}), "No such file or directory");
  check_refused(run({"check", folder.at("")}), "is a directory");
  check_refused(run({"check", folder.write("empty.yaml", "")}), "it is empty");
  check_refused(run({"check", folder.write("large.yaml", std::string((4u << 20) + 1, '#'))}), "larger than 4 MiB");
  check_refused(run({"check", "/dev/zero"}), "larger than 4 MiB");
  check_refused(run({"check", "-"}), "'stdin': it is empty");
  check_refused(run({.arguments = {"check", "-"}, .in = std::string((4u << 20) + 1, '#')}), "larger than 4 MiB");
  check_refused(run({"draw", folder.at("absent.yaml"), "-o", folder.at("x.svg")}), "No such file or directory");
  if (::geteuid() != 0) {
    const std::string secret = folder.write("secret.yaml", "loom: 1\n");
    std::filesystem::permissions(secret, std::filesystem::perms::none);
    check_refused(run({"check", secret}), "Permission denied");
  }
}

TEST_CASE("a name that would command the terminal is shown washed") {
  const Ran ran = run({"check", "absent\x1b[31m\n.yaml"});
  CHECK(ran.code == 2);
  CHECK_FALSE(has(ran.err, "\x1b"));
  CHECK(std::count(ran.err.begin(), ran.err.end(), '\n') == 1);
}

TEST_CASE("command lines that cannot be used") {
  const Folder folder;
  check_refused(run({"chek", "x.yaml"}), "did you mean 'check'?");
  check_refused(run({"frobnicate"}), "--help");
  check_refused(run(std::vector<std::string>{}), "subcommand");
  check_refused(run({"check"}), "FILE");
  check_refused(run({"check", "--format", "xml", "x.yaml"}), "xml");
  check_refused(run({"check", "--closest", "-1", "x.yaml"}), "closest");
  check_refused(run({"draw", "x.yaml", "-o", "x.gif"}), ".svg, .pdf, .png or .dot");
  check_refused(run({"why", "no-such-rule"}), "there is no rule 'no-such-rule'");
}

TEST_CASE("text that is no loom: its errors on stderr, in a compiler's shape, exit 2") {
  const Folder folder;
  const std::string path = folder.write("bad.yaml", "loom: 1\nvehicel: {name: x}\n");
  const Ran ran = run({"check", path});
  CHECK(ran.code == 2);
  CHECK(ran.out.empty());
  CHECK(has(ran.err, "error: "));
  CHECK(has(ran.err, "bad.yaml:2:1"));
  CHECK(has(ran.err, "nothing was checked"));
}

TEST_CASE("machine formats hold the failure too, so that an empty list never looks clean") {
  const Folder folder;
  const Ran json = run({"check", "--format", "json", folder.at("absent.yaml")});
  CHECK(json.code == 2);
  CHECK(has(json.out, "\"checked\": false"));
  CHECK(has(json.out, "No such file or directory"));
  const Ran sarif = run({"check", "--format", "sarif", folder.at("absent.yaml")});
  CHECK(sarif.code == 2);
  CHECK(has(sarif.out, "\"executionSuccessful\": false"));
}
