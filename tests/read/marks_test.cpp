// The reader against files that say on the line itself which fault belongs there, and against files that read clean.
#include <doctest/doctest.h>
#include <fmt/core.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "read/read.h"

namespace {

namespace fs = std::filesystem;
using namespace loomproof;

std::string slurp(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  REQUIRE_MESSAGE(in, path.string());
  return {std::istreambuf_iterator<char>(in), {}};
}

std::vector<fs::path> yaml_files(const char* folder) {
  std::vector<fs::path> out;
  for (const auto& entry : fs::directory_iterator(fs::path(TESTS_DIR) / "read" / folder)) {
    if (entry.path().extension() == ".yaml") out.push_back(entry.path());
  }
  std::sort(out.begin(), out.end());
  return out;
}

struct Mark {
  int line;
  std::string wanted;
};

std::vector<Mark> marks_of(const std::string& text) {
  std::vector<Mark> out;
  int line = 1;
  for (std::size_t start = 0; start < text.size(); ++line) {
    const std::size_t end = std::min(text.find('\n', start), text.size());
    const std::string row = text.substr(start, end - start);
    for (std::size_t at = row.find("#!"); at != std::string::npos; at = row.find("#!", at + 2)) {
      const std::size_t next = std::min(row.find("#!", at + 2), row.size());
      std::string wanted = row.substr(at + 2, next - at - 2);
      wanted.erase(0, wanted.find_first_not_of(' '));
      wanted.erase(wanted.find_last_not_of(' ') + 1);
      out.push_back({line, wanted});
    }
    start = end + 1;
  }
  return out;
}

bool fits(const ReadFault& fault, const Mark& mark) {
  return fault.at.line == mark.line &&
         (fault.what.find(mark.wanted) != std::string::npos || fault.hint.find(mark.wanted) != std::string::npos);
}

// Both differences between marks and faults, each as a line; empty when the two agree.
std::string differences(const std::string& text, const ReadResult& result) {
  const std::vector<Mark> marks = marks_of(text);
  std::string out;
  for (const Mark& mark : marks) {
    const bool found = std::any_of(result.faults.begin(), result.faults.end(),
                                   [&](const ReadFault& fault) { return fits(fault, mark); });
    if (!found) out += fmt::format("\n  line {}: no fault says '{}'", mark.line, mark.wanted);
  }
  for (const ReadFault& fault : result.faults) {
    const bool expected = std::any_of(marks.begin(), marks.end(), [&](const Mark& mark) { return fits(fault, mark); });
    if (!expected)
      out += fmt::format("\n  {}:{}: not marked: {} ({})", fault.at.line, fault.at.column, fault.what, fault.hint);
  }
  return out;
}

}  // namespace

TEST_CASE("every marked line raises its fault and no other line raises one") {
  std::size_t marked = 0;
  for (const fs::path& path : yaml_files("bad")) {
    const std::string text = slurp(path);
    REQUIRE_MESSAGE(!marks_of(text).empty(), path.string() << " marks nothing");
    marked += marks_of(text).size();
    ReadBounds all;
    all.faults = 1000;
    const ReadResult result = read_loom(text, path.filename().string(), all);
    CHECK_MESSAGE(!result.loom, path.string());
    const std::string wrong = differences(text, result);
    CHECK_MESSAGE(wrong.empty(), path.filename().string() << wrong);
    CHECK(std::is_sorted(result.faults.begin(), result.faults.end(),
                         [](const ReadFault& a, const ReadFault& b) { return a.at < b.at; }));
  }
  CHECK(marked >= 40);
}

TEST_CASE("every file of the good folder reads without a fault") {
  for (const fs::path& path : yaml_files("good")) {
    const ReadResult result = read_loom(slurp(path), path.filename().string());
    std::string faults;
    for (const ReadFault& f : result.faults) faults += fmt::format("\n  {}:{}: {}", f.at.line, f.at.column, f.what);
    CHECK_MESSAGE(faults.empty(), path.filename().string() << faults);
    CHECK(result.loom);
  }
}

TEST_CASE("messages are one line, small letter, no full stop") {
  for (const fs::path& path : yaml_files("bad")) {
    for (const ReadFault& fault : read_loom(slurp(path), "x").faults) {
      CAPTURE(fault.what);
      CHECK(fault.what.find('\n') == std::string::npos);
      CHECK_FALSE((fault.what[0] >= 'A' && fault.what[0] <= 'Z'));
      CHECK(fault.what.back() != '.');
      CHECK(fault.at.line >= 1);
      CHECK(fault.at.column >= 1);
    }
  }
}
