// What needs no loom: help, version, the list of rules; and outside failures, exit code 4.
#include <signal.h>

#include "main/program.h"

using program::Folder;
using program::has;
using program::Ran;
using program::run;

TEST_CASE("help and version go to stdout and are no failure") {
  const Ran help = run({"--help"});
  CHECK(help.code == 0);
  CHECK(has(help.out, "check"));
  CHECK(has(help.out, "Exit code"));
  CHECK(help.err.empty());
  const Ran version = run({"--version"});
  CHECK(version.code == 0);
  CHECK(version.out.starts_with("loomproof "));
  CHECK(run({"check", "--help"}).code == 0);
}

TEST_CASE("`why` alone lists the rules") {
  const Ran ran = run({"why"});
  CHECK(ran.code == 0);
  CHECK(ran.err.empty());
}

TEST_CASE("a full device is told, exit 4") {
  const int full = ::open("/dev/full", O_WRONLY);
  REQUIRE(full >= 0);
  const Ran ran = run({.arguments = {"check", "--format", "json", "/nonexistent"}, .out = full});
  CHECK(ran.code == 4);
  CHECK(has(ran.err, "cannot write to stdout: No space left on device"));
  ::close(full);
}

TEST_CASE("a reader that went away ends it quietly, exit 4") {
  std::array<int, 2> ends{};
  REQUIRE(::pipe(ends.data()) == 0);
  ::close(ends[0]);
  const Ran ran = run({.arguments = {"check", "--format", "json", "/nonexistent"}, .out = ends[1]});
  CHECK(ran.code == 4);
  CHECK_FALSE(has(ran.err, "cannot write"));
  ::close(ends[1]);
}
