// The demos: those at the top are whole and give no finding; those under broken/ give exactly what their lines mark.
#include <doctest/doctest.h>

#include "rules/design.h"

namespace {

namespace fs = std::filesystem;
using loomproof::Verdict;
using loomproof::test::Design;
using loomproof::test::Mark;
using loomproof::test::Marks;

const fs::path netlists = fs::path(SOURCE_ROOT) / "netlists";

std::string faults_of(const Design& design) {
  std::string out;
  for (const auto& fault : design.read.faults) out += fmt::format("\n  line {}: {}", fault.at.line, fault.what);
  return out;
}

std::string differences(const Design& design, const std::set<Mark>& wanted) {
  std::string out;
  const std::set<Mark> found = design.found();
  for (const Mark& mark : found) {
    if (!wanted.contains(mark)) out += "\n  found without a mark: " + sentence_of(mark) + design.words_for(mark);
  }
  for (const Mark& mark : wanted) {
    if (!found.contains(mark)) out += "\n  marked and not found: " + sentence_of(mark);
  }
  return out;
}

}  // namespace

TEST_CASE("every demo is clean") {
  const auto demos = loomproof::test::designs_in(netlists);
  REQUIRE_FALSE(demos.empty());
  for (const fs::path& path : demos) {
    const Design demo(path);
    const std::string name = path.filename().string();
    CHECK_MESSAGE(demo.read.loom.has_value(), name, " cannot be read:", faults_of(demo));
    if (!demo.read.loom) continue;
    const std::string wrong = differences(demo, {});
    CHECK_MESSAGE(wrong.empty(), name, ":", wrong);
    CHECK_MESSAGE(demo.text.find("#!") == std::string::npos, name, " is clean and bears a mark");
    // A check that looked at nothing is clean too, and so is one whose findings were waived.
    CHECK_MESSAGE(demo.judgement.count(Verdict::holds) > demo.read.loom->wires.size(), name, " was hardly looked at");
    CHECK_MESSAGE(demo.judgement.waived() == 0, name, " waives a finding");
  }
}

TEST_CASE("every broken demo is found out where its mistake stands, and nowhere else") {
  const auto demos = loomproof::test::designs_in(netlists / "broken");
  CHECK(demos.size() >= 12);
  for (const fs::path& path : demos) {
    const Design demo(path);
    const std::string name = path.filename().string();
    CHECK_MESSAGE(demo.read.loom.has_value(), name, " cannot be read:", faults_of(demo));
    if (!demo.read.loom) continue;
    const Marks marks = loomproof::test::marks_of(demo.text);
    CHECK_MESSAGE(demo.text.starts_with("# "), name, " does not begin with its mistake in a sentence");
    CHECK_MESSAGE(marks.faults.empty(), name, ": ", marks.faults.empty() ? std::string() : marks.faults.front());
    CHECK_MESSAGE(!marks.marks.empty(), name, " marks nothing");
    CHECK_MESSAGE(marks.ignored.empty(), name, " ignores a rule");
    const std::string wrong = differences(demo, marks.marks);
    CHECK_MESSAGE(wrong.empty(), name, ":", wrong);
  }
}
