// `papers`: a folder whole or absent, never over something that is not its own.
#include <signal.h>
#include <sys/resource.h>
#include <sys/stat.h>

#include <map>
#include <set>

#include "main/program.h"

using program::cart;
using program::Folder;
using program::has;
using program::Ran;
using program::run;

namespace {

namespace fs = std::filesystem;

std::map<std::string, std::string> files_in(const fs::path& folder) {
  std::map<std::string, std::string> out;
  for (const auto& entry : fs::directory_iterator(folder)) {
    out[entry.path().filename().string()] = texts::of_file(entry.path());
  }
  return out;
}

}  // namespace

TEST_CASE("papers writes fourteen files, the same each time, and nothing beside the folder") {
  const Folder folder;
  const Ran first = run({"papers", cart, "-o", folder.at("a")});
  CHECK(first.code == 0);
  CHECK(first.out.empty());
  CHECK(first.err.empty());
  REQUIRE(run({"papers", cart, "-o", folder.at("b/")}).code == 0);
  const auto files = files_in(folder.at("a"));
  CHECK(files.size() == 14);
  CHECK(files == files_in(folder.at("b")));
  CHECK(folder.count() == 2);
  for (const auto& [name, bytes] : files) CHECK_MESSAGE(bytes.size() > 200, name);
  for (const char* name :
       {"cut-list", "terminations", "connector-pins", "fuse-schedule", "labels", "materials", "test-sheet"}) {
    CHECK(files.contains(std::string(name) + ".csv"));
    CHECK(files.contains(std::string(name) + ".html"));
  }
}

TEST_CASE("an existing folder stays as it is unless --replace, exit 4") {
  const Folder folder;
  REQUIRE(run({"papers", cart, "-o", folder.at("a")}).code == 0);
  const auto before = files_in(folder.at("a"));
  const Ran again = run({"papers", cart, "-o", folder.at("a"), "--slack", "50 mm"});
  CHECK(again.code == 4);
  CHECK(has(again.err, "exists; --replace"));
  CHECK(files_in(folder.at("a")) == before);
  CHECK(run({"papers", cart, "-o", folder.at("a"), "--slack", "50 mm", "--replace"}).code == 0);
  CHECK(files_in(folder.at("a")) != before);
  CHECK(files_in(folder.at("a")).size() == 14);
  CHECK(folder.count() == 1);
}

TEST_CASE("--replace takes no folder with anything else in it, no file and no link, exit 4") {
  const Folder folder;
  fs::create_directory(folder.at("mine"));
  folder.write("mine/letter.txt", "dear");
  const Ran ran = run({"papers", cart, "-o", folder.at("mine"), "--replace"});
  CHECK(ran.code == 4);
  CHECK(has(ran.err, "letter.txt"));
  CHECK(files_in(folder.at("mine")).size() == 1);
  folder.write("file", "x");
  CHECK(run({"papers", cart, "-o", folder.at("file"), "--replace"}).code == 4);
  CHECK(fs::file_size(folder.at("file")) == 1);
  fs::create_directory_symlink(folder.at("mine"), folder.at("link"));
  CHECK(run({"papers", cart, "-o", folder.at("link"), "--replace"}).code == 4);
  CHECK(folder.count() == 3);
}

TEST_CASE("a place that cannot be written leaves nothing, exit 4") {
  const Folder folder;
  CHECK(run({"papers", cart, "-o", folder.at("missing/a")}).code == 4);
  CHECK(folder.count() == 0);
  folder.write("file", "x");
  CHECK(run({"papers", cart, "-o", folder.at("file/a")}).code == 4);
  CHECK(run({"papers", cart, "-o", "/proc/a"}).code == 4);
  CHECK(run({"papers", cart, "-o", folder.at(std::string(300, 'n'))}).code == 4);
  CHECK(folder.count() == 1);
  if (::geteuid() != 0) {
    fs::create_directory(folder.at("locked"));
    fs::permissions(folder.at("locked"), fs::perms::owner_read | fs::perms::owner_exec);
    CHECK(run({"papers", cart, "-o", folder.at("locked/a")}).code == 4);
    CHECK(fs::is_empty(folder.at("locked")));
  }
}

TEST_CASE("a write that fails half way leaves nothing, exit 4; with SIGXFSZ it ends by the signal and leaves nothing") {
  // The limit on a file's size stands in for a full disk: the first files fit, a later one does not.
  const Folder folder;
  struct rlimit before {};
  REQUIRE(::getrlimit(RLIMIT_FSIZE, &before) == 0);
  for (const bool ignored : {true, false}) {
    ::signal(SIGXFSZ, ignored ? SIG_IGN : SIG_DFL);
    const struct rlimit small { 20000, before.rlim_max };
    REQUIRE(::setrlimit(RLIMIT_FSIZE, &small) == 0);
    const Ran ran = run({"papers", cart, "-o", folder.at("a")});
    REQUIRE(::setrlimit(RLIMIT_FSIZE, &before) == 0);
    ::signal(SIGXFSZ, SIG_DFL);
    CHECK(ran.code == (ignored ? 4 : 128 + SIGXFSZ));
    if (ignored) CHECK(has(ran.err, "cannot write"));
    CHECK(folder.count() == 0);
  }
}

TEST_CASE("an unusable file or slack writes nothing, exit 2") {
  const Folder folder;
  CHECK(run({"papers", folder.write("bad.yaml", "loom: 1\nparts: 7\n"), "-o", folder.at("a")}).code == 2);
  CHECK(run({"papers", cart, "-o", folder.at("a"), "--slack", "50"}).code == 2);
  CHECK(run({"papers", cart, "-o", folder.at("a"), "--slack", "-5 %"}).code == 2);
  CHECK(run({"papers", cart}).code == 2);
  CHECK_FALSE(fs::exists(folder.at("a")));
}
