// The ledger: a verdict never gets milder, nothing left open passes, and the reading order is the promised one.
#include "rules/ledger.h"

#include <cmath>
#include <limits>

#include <doctest/doctest.h>

#include "rules/list.h"

namespace {

using loomproof::Figure;
using loomproof::Group;
using loomproof::Judgement;
using loomproof::Ledger;
using loomproof::Obligation;
using loomproof::Rule;
using loomproof::Severity;
using loomproof::Subject;
using loomproof::Verdict;

const Rule hot{"hot", Group::conductors, Severity::danger, "Nothing gets hot.", nullptr};
const Rule ends{"ends", Group::terminations, Severity::nuisance, "Every end is wired.", nullptr};
const Rule loud{"loud", Group::low_voltage, Severity::nuisance, "Nothing is loud.", nullptr};

Subject at_line(std::string name, int line) {
  return {std::move(name), {line, 3}, {}, {}};
}

Figure used(double share) {
  return {"1 A", "2 A", share};
}

}  // namespace

TEST_CASE("a later, milder verdict does not replace a worse one") {
  Obligation owed;
  owed.rule = &hot;
  owed.broken("too hot", used(1.3), "climb").fix("thicker");
  owed.holds(used(0.4), "cruise");
  owed.undecided("length is missing", "write it");
  CHECK(owed.verdict == Verdict::broken);
  CHECK(owed.what == "too hot");
  CHECK(owed.situation == "climb");
  CHECK(owed.mend == "thicker");
  CHECK(owed.figure->used == 1.3);
}

TEST_CASE("a worse verdict replaces a milder one and what was said about it") {
  Obligation owed;
  owed.rule = &hot;
  owed.holds(used(0.4), "cruise").note("by far");
  owed.undecided("length is missing", "write it");
  CHECK(owed.verdict == Verdict::undecided);
  CHECK(owed.notes.empty());
  CHECK_FALSE(owed.figure);
  CHECK(owed.situation.empty());
  owed.broken("too hot");
  CHECK(owed.verdict == Verdict::broken);
  CHECK(owed.mend.empty());
}

TEST_CASE("of two verdicts that hold, the one nearer to its limit stays") {
  Obligation owed;
  owed.holds(used(0.4), "cruise").holds(used(0.9), "climb").holds(used(0.5), "rest");
  CHECK(owed.situation == "climb");
}

TEST_CASE("notes given before the verdict stay") {
  Obligation owed;
  owed.see({4, 1}, "limit set here");
  owed.broken("too hot");
  REQUIRE(owed.notes.size() == 1);
  CHECK(owed.notes[0].at.line == 4);
}

TEST_CASE("a figure that is past its limit or no number never holds") {
  for (const double share : {1.1, std::nan(""), std::numeric_limits<double>::infinity()}) {
    Obligation owed;
    owed.holds(used(share));
    CHECK(owed.verdict == Verdict::undecided);
    CHECK_FALSE(owed.mend.empty());
  }
  Obligation at_limit;
  at_limit.holds(used(1.0));
  CHECK(at_limit.verdict == Verdict::holds);
}

TEST_CASE("references from the ledger outlive later openings") {
  Ledger ledger;
  Obligation& first = ledger.open(hot, at_line("A", 1));
  for (int i = 0; i < 1000; ++i) ledger.open(loud, at_line("B", i));
  first.broken("too hot");
  CHECK(ledger.obligations().front().verdict == Verdict::broken);
  CHECK(ledger.obligations().size() == 1001);
}

TEST_CASE("an assumption is kept once") {
  Ledger ledger;
  ledger.assume("insulation of 'A' taken as x", {3, 1});
  ledger.assume("insulation of 'A' taken as x", {3, 1});
  ledger.assume("insulation of 'B' taken as x", {4, 1});
  CHECK(ledger.assumptions().size() == 2);
}

TEST_CASE("reading order: broken, undecided or open, holds; then severity, place, rule, name") {
  Ledger ledger;
  ledger.open(hot, at_line("held", 1)).holds(used(0.5));
  ledger.open(hot, at_line("open", 2));
  ledger.open(loud, at_line("nuisance", 3)).broken("loud");
  ledger.open(hot, at_line("late", 9)).broken("hot");
  ledger.open(hot, at_line("early", 8)).broken("hot");
  ledger.open(loud, at_line("raised", 10)).broken("loud").as(Severity::danger);
  ledger.open(hot, at_line("unknown", 1)).undecided("?", "write it");
  std::vector<Obligation> all(ledger.obligations().begin(), ledger.obligations().end());
  sort_for_reading(all);
  std::vector<std::string> names;
  for (const Obligation& owed : all) names.push_back(owed.subject.name);
  CHECK(names == std::vector<std::string>{"early", "late", "raised", "nuisance", "unknown", "open", "held"});
}

TEST_CASE("reading order: what is read from the wiring stands before what it explains, and no further up") {
  Ledger ledger;
  ledger.open(hot, at_line("drive", 1)).broken("'key' does not take the torque away");
  ledger.open(hot, at_line("lamp", 2)).broken("'lamp' is dark when 'pack.pos' is open");
  ledger.open(loud, at_line("pack.neg", 8)).broken("no wire lands there").of_wiring();
  ledger.open(loud, at_line("horn", 3)).broken("it cannot be heard");
  ledger.open(loud, at_line("W7", 9)).broken("'W7' ends at 'horn.b'").of_wiring();
  ledger.open(ends, at_line("W8", 20)).broken("'W8' ends at 'horn.a'").of_wiring();
  ledger.open(ends, at_line("W6", 1)).broken("'W6' is long");
  ledger.open(loud, at_line("bell", 4)).broken("no wire lands on 'drive.key'").of_wiring();
  ledger.open(hot, at_line("waived", 1)).broken("'horn' burns").waived = "bench only";
  ledger.open(loud, at_line("apart", 2)).undecided("?", "write it").of_wiring();
  std::vector<Obligation> all(ledger.obligations().begin(), ledger.obligations().end());
  sort_for_reading(all);
  std::vector<std::string> names;
  for (const Obligation& owed : all) names.push_back(owed.subject.name);
  // A waived danger lifts nothing: of the nuisances the wiring's own still comes first.
  CHECK(names == std::vector<std::string>{"bell", "pack.neg", "drive", "waived", "lamp", "W8", "W7", "W6", "horn", "apart"});
}

TEST_CASE("a worse verdict is not of the wiring because a milder one was") {
  Ledger ledger;
  Obligation& owed = ledger.open(hot, at_line("a", 1));
  owed.broken("turned", used(1.5)).of_wiring();
  CHECK(owed.wiring);
  owed.broken("too hot", used(2));
  CHECK_FALSE(owed.wiring);
}

TEST_CASE("counts: each obligation once; waived ones apart; open ones are undecided") {
  Ledger ledger;
  ledger.open(hot, at_line("a", 1)).holds(used(0.5));
  ledger.open(hot, at_line("b", 2));
  ledger.open(hot, at_line("c", 3)).broken("hot");
  ledger.open(hot, at_line("d", 4)).broken("hot").waived = "bench only";
  ledger.open(hot, at_line("e", 5)).holds(used(0.7)).waived = "needs none";
  const Judgement judgement{{ledger.obligations().begin(), ledger.obligations().end()}, {}, {}, {}};
  CHECK(judgement.count(Verdict::holds) == 2);
  CHECK(judgement.count(Verdict::broken) == 1);
  CHECK(judgement.count(Verdict::undecided) == 1);
  CHECK(judgement.waived() == 1);
  CHECK(judgement.findings().size() == 2);
}

TEST_CASE("closest calls: only what holds with a figure, nearest first, no more than asked for") {
  Ledger ledger;
  ledger.open(hot, at_line("a", 1)).holds(used(0.5));
  ledger.open(hot, at_line("b", 2)).holds(used(0.9));
  ledger.open(hot, at_line("c", 3)).broken("hot", used(2));
  ledger.open(hot, at_line("d", 4)).holds("is there");
  const Judgement judgement{{ledger.obligations().begin(), ledger.obligations().end()}, {}, {}, {}};
  REQUIRE(judgement.closest(9).size() == 2);
  CHECK(judgement.closest(9)[0]->subject.name == "b");
  CHECK(judgement.closest(1).size() == 1);
  CHECK(judgement.closest(0).empty());
}

TEST_CASE("the table of rules holds every rule once, and finds it by slug") {
  for (const Rule* rule : loomproof::all_rules()) CHECK(loomproof::find_rule(rule->slug) == rule);
  CHECK(loomproof::find_rule("no-such-rule") == nullptr);
}
