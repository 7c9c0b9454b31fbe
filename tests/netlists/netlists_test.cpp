// The demos: those at the top are whole and give no finding; those under broken/ give exactly what their lines mark.
#include <doctest/doctest.h>

#include <filesystem>
#include <string>

#include "marks.h"

namespace {

namespace fs = std::filesystem;
using namespace loomproof;

const fs::path netlists = fs::path(SOURCE_ROOT) / "netlists";

}  // namespace

TEST_CASE("every demo is clean") {
  std::size_t demos = 0;
  for (const fs::path& path : marks::designs_in(netlists)) {
    const marks::Checked checked = marks::check(path);
    REQUIRE_MESSAGE(checked.judgement, checked.name << checked.faults);
    CHECK_MESSAGE(marks::marks_of(checked.text).empty(), checked.name << " marks a finding");
    const std::string wrong = marks::differences({}, marks::found_in(*checked.judgement));
    CHECK_MESSAGE(wrong.empty(), checked.name << wrong);
    // A check that looked at nothing is clean too.
    CHECK(checked.judgement->count(Verdict::holds) > checked.read.loom->wires.size());
    CHECK(checked.judgement->waived() == 0);
    ++demos;
  }
  CHECK(demos >= 1);
}

TEST_CASE("every broken demo is found out where its mistake stands, and nowhere else") {
  std::size_t demos = 0;
  for (const fs::path& path : marks::designs_in(netlists / "broken")) {
    const marks::Checked checked = marks::check(path);
    REQUIRE_MESSAGE(checked.judgement, checked.name << checked.faults);
    const std::set<marks::Mark> wanted = marks::marks_of(checked.text);
    CHECK_MESSAGE(!wanted.empty(), checked.name << " marks nothing");
    CHECK_MESSAGE(checked.text.starts_with("# "), checked.name << " does not begin with its mistake in a sentence");
    const std::string wrong = marks::differences(wanted, marks::found_in(*checked.judgement));
    CHECK_MESSAGE(wrong.empty(), checked.name << wrong);
    ++demos;
  }
  CHECK(demos >= 12);
}
