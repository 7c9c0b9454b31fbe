// The starter of dot: what it does when dot is missing, hangs, dies, floods or answers rubbish.
#include "show/run_dot.h"

#include <doctest/doctest.h>
#include <sys/stat.h>

#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>

using loomproof::draw;
using loomproof::DrawFormat;
using loomproof::DrawOutcome;
using loomproof::DrawResult;

namespace {

/// A folder with a `dot` of our own as the only thing on PATH; put back at the end.
class OnlyDot {
 public:
  explicit OnlyDot(const std::string& script) : path_before_(std::getenv("PATH")) {
    std::string pattern = (std::filesystem::temp_directory_path() / "loomproof-dot-XXXXXX").string();
    REQUIRE(mkdtemp(pattern.data()) != nullptr);
    folder_ = pattern;
    if (!script.empty()) {
      std::ofstream(folder_ / "dot") << "#!/bin/sh\n" << script << "\n";
      chmod((folder_ / "dot").c_str(), 0755);
    }
    setenv("PATH", folder_.c_str(), 1);
  }
  ~OnlyDot() {
    setenv("PATH", path_before_.c_str(), 1);
    std::filesystem::remove_all(folder_);
  }
  OnlyDot(const OnlyDot&) = delete;
  OnlyDot& operator=(const OnlyDot&) = delete;

 private:
  std::string path_before_;
  std::filesystem::path folder_;
};

const std::string small = "digraph g { a -> b }";
/// Larger than any pipe's buffer, so that a starter that first writes and then reads would wait for ever.
const std::string large = "/*" + std::string(3'000'000, 'x') + "*/" + small;

}  // namespace

TEST_CASE("dot draws in all three formats") {
  const DrawResult svg = draw(small, DrawFormat::svg);
  REQUIRE_MESSAGE(svg.outcome == DrawOutcome::drawn, svg.error);
  CHECK(svg.bytes.find("<svg") != std::string::npos);
  CHECK(draw(small, DrawFormat::pdf).bytes.substr(0, 5) == "%PDF-");
  CHECK(draw(small, DrawFormat::png).bytes.substr(1, 3) == "PNG");
}

TEST_CASE("a mistake in the text is an error with dot's own words") {
  const DrawResult result = draw("digraph g { a -> ", DrawFormat::svg);
  CHECK(result.outcome == DrawOutcome::failed);
  CHECK(result.error.find("syntax error") != std::string::npos);
  CHECK(result.bytes.empty());
}

TEST_CASE("no dot on the path says which package to install") {
  const OnlyDot none("");
  const DrawResult result = draw(small, DrawFormat::svg);
  CHECK(result.outcome == DrawOutcome::missing);
  CHECK(result.error.find("install the package graphviz") != std::string::npos);
}

TEST_CASE("a dot that hangs is ended, with what it started") {
  for (const std::string script : {"while :; do /bin/sleep 100; done", "exec /bin/sleep 100", "/bin/sleep 100 & exit 0",
                                   "exec 1>&- 2>&-; /bin/sleep 100"}) {
    CAPTURE(script);
    const OnlyDot hangs(script);
    const auto before = std::chrono::steady_clock::now();
    const DrawResult result = draw(large, DrawFormat::svg, {std::chrono::milliseconds(300), 1000});
    CHECK(result.outcome == DrawOutcome::timed_out);
    CHECK(std::chrono::steady_clock::now() - before < std::chrono::seconds(10));
  }
}

TEST_CASE("a dot that dies, floods or answers rubbish is a failure") {
  {
    const OnlyDot dies("echo 'no such font' >&2; exit 3");
    const DrawResult result = draw(large, DrawFormat::svg);
    CHECK(result.outcome == DrawOutcome::failed);
    CHECK(result.error == "dot ended with code 3: no such font");
  }
  {
    const OnlyDot killed("kill -9 $$");
    CHECK(draw(small, DrawFormat::svg).error.find("signal 9") != std::string::npos);
  }
  {
    const OnlyDot floods("while :; do echo xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx; done");
    const DrawResult result = draw(small, DrawFormat::svg, {std::chrono::seconds(20), 100'000});
    CHECK(result.outcome == DrawOutcome::failed);
    CHECK(result.error.find("bound") != std::string::npos);
  }
  {
    const OnlyDot rubbish("echo hello");
    CHECK(draw(small, DrawFormat::svg).outcome == DrawOutcome::failed);
  }
  {
    const OnlyDot cut("echo '<svg width=\"3\">'");
    CHECK(draw(small, DrawFormat::svg).outcome == DrawOutcome::failed);
  }
}

TEST_CASE("text and answer larger than a pipe pass both ways at once") {
  const OnlyDot echo("echo '<svg>'; /bin/cat; echo '</svg>'");
  const DrawResult result = draw(large, DrawFormat::svg, {std::chrono::seconds(20), 10'000'000});
  REQUIRE_MESSAGE(result.outcome == DrawOutcome::drawn, result.error);
  CHECK(result.bytes.size() > large.size());
}
