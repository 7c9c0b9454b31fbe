// Designs of tests/rules/<slug>/: what a line's mark says is found there, and nothing else is found; figures as asked.
#include <doctest/doctest.h>

#include "rules/ask.h"
#include "rules/design.h"

namespace {

namespace fs = std::filesystem;
using loomproof::Obligation;
using loomproof::Verdict;
using loomproof::test::Ask;
using loomproof::test::Design;
using loomproof::test::Mark;
using loomproof::test::Marks;

// Both differences in sentences; empty when marks and findings agree.
std::string differences(const Design& design, const Marks& marks) {
  std::string out;
  for (const std::string& fault : marks.faults) out += "\n  " + fault;
  const std::set<Mark> found = design.found();
  for (const Mark& mark : found) {
    if (marks.marks.contains(mark) || marks.ignored.contains(mark.slug)) continue;
    out += "\n  found without a mark: " + sentence_of(mark) + design.words_for(mark);
  }
  for (const Mark& mark : marks.marks) {
    if (!found.contains(mark)) out += "\n  marked and not found: " + sentence_of(mark);
  }
  for (const auto& [slug, reason] : marks.ignored) {
    if (std::none_of(found.begin(), found.end(), [&, &name = slug](const Mark& m) { return m.slug == name; }))
      out += "\n  '" + slug + "' is ignored and finds nothing: take the `#! ignore` out";
  }
  return out;
}

// A near miss that no obligation of its rule concerns would be near nothing.
bool holds_somewhere(const Design& design, const std::string& slug) {
  const auto& all = design.judgement.obligations;
  return std::any_of(all.begin(), all.end(),
                     [&](const Obligation& owed) { return owed.rule->slug == slug && owed.verdict == Verdict::holds; });
}

std::string answers(const Design& design, const fs::path& asks) {
  std::string out;
  for (const Ask& ask : loomproof::test::asks_of(asks)) {
    const auto wrong = loomproof::test::wrong_answer(ask, design.judgement);
    const std::string name =
        fmt::format("\n  line {}: {} of {} on {} is to be {}", ask.line, ask.what, ask.slug, ask.subject, ask.is);
    if (wrong && !ask.falls_short) out += name + ": " + *wrong;
    if (!wrong && ask.falls_short) out += name + ", and is: its `falls_short` is out of date";
  }
  return out;
}

fs::path asks_beside(fs::path design) {
  return design.replace_extension(".ask.yaml");
}

}  // namespace

TEST_CASE("what the marks say is found, and nothing else; figures are as asked") {
  const auto designs = loomproof::test::all_designs();
  REQUIRE_FALSE(designs.empty());
  for (const fs::path& path : designs) {
    const std::string name = loomproof::test::short_name(path);
    const Design design(path);
    std::string faults;
    for (const auto& fault : design.read.faults) faults += fmt::format("\n  line {}: {}", fault.at.line, fault.what);
    CHECK_MESSAGE(design.read.loom.has_value(), name, " cannot be read:", faults);
    if (!design.read.loom) continue;
    const std::string wrong = differences(design, loomproof::test::marks_of(design.text));
    CHECK_MESSAGE(wrong.empty(), name, ":", wrong);
    const std::string slug = path.parent_path().filename().string();
    if (loomproof::test::is_near_miss(path)) {
      CHECK_MESSAGE(holds_somewhere(design, slug), name, ": no obligation of ", slug, " holds in it");
    }
    const fs::path asks = asks_beside(path);
    if (!fs::exists(asks)) continue;
    const std::string off = answers(design, asks);
    CHECK_MESSAGE(off.empty(), loomproof::test::short_name(asks), ":", off);
  }
}

TEST_CASE("every list of figures has its design") {
  for (const fs::path& design : loomproof::test::all_designs()) {
    for (const fs::path& asks : loomproof::test::files_in(design.parent_path(), ".ask.yaml")) {
      const fs::path owner = asks.parent_path() / (asks.stem().stem().string() + ".yaml");
      CHECK_MESSAGE(fs::exists(owner), loomproof::test::short_name(asks), " stands beside no design");
    }
  }
}

TEST_CASE("the runner itself sees a missing mark, a wrong mark and a mistyped one") {
  const std::string slug(loomproof::all_rules().front()->slug);
  const Marks good = loomproof::test::marks_of("a: 1  #! broken " + slug + "; undecided " + slug + "\n");
  CHECK(good.marks == std::set<Mark>{{1, "broken", slug}, {1, "undecided", slug}});
  CHECK(good.faults.empty());
  CHECK(loomproof::test::marks_of("#! ignore " + slug + " its part has no rating on purpose\n").ignored.size() == 1);
  const std::vector<std::string> mistyped{"a: 1 #! borken " + slug, "a: 1 #! broken no-such-rule", "#! ignore " + slug,
                                          "#! broken " + slug, "a: 1 #! broken " + slug + " twice"};
  for (const std::string& bad : mistyped) {
    CHECK_MESSAGE(loomproof::test::marks_of(bad).faults.size() == 1, bad);
  }
}

TEST_CASE("a figure outside its tolerance, of another unit, or of nothing is a wrong answer") {
  const loomproof::Rule& rule = *loomproof::all_rules().front();
  loomproof::Judgement judgement;
  Obligation owed;
  owed.rule = &rule;
  owed.subject.name = "T1";
  owed.broken("'T1' is hot", loomproof::Figure{"131 degC", "105 degC", 1.4});
  judgement.obligations.push_back(owed);
  Ask ask{1, "figure", std::string(rule.slug), "T1", "130 degC", 0.01, "invented", std::nullopt};
  CHECK_FALSE(wrong_answer(ask, judgement));
  ask.within = 0.001;
  CHECK(wrong_answer(ask, judgement));
  ask.is = "131 A";
  CHECK(wrong_answer(ask, judgement));
  ask.is = "hot";
  CHECK(wrong_answer(ask, judgement));
  ask.subject = "T2";
  CHECK(wrong_answer(ask, judgement));
  Ask words{1, "sentence", std::string(rule.slug), "T1", "'T1' is hot", std::nullopt, "invented", std::nullopt};
  CHECK_FALSE(wrong_answer(words, judgement));
  words.is = "'T1' is cold";
  CHECK(wrong_answer(words, judgement));
  judgement.obligations.push_back(owed);
  ask = {1, "figure", std::string(rule.slug), "T1", "131 degC", 0.01, "invented", std::nullopt};
  CHECK_MESSAGE(wrong_answer(ask, judgement), "two figures answer and neither is meant");
}
