// Runs every rule and closes what a rule left open.
#include <vector>

#include "model/time_limit.h"
#include "rules/ledger.h"
#include "rules/list.h"
#include "solve/beside.h"
#include "solve/fault_walk.h"
#include "solve/solved.h"

namespace loomproof {
namespace {

bool covers(const Waiver& waiver, const Obligation& owed) {
  return waiver.rule == owed.rule->slug && (waiver.subject.empty() || waiver.subject == owed.subject.name);
}

// One ledger a rule. Rules know nothing of one another, so that two threads may share them.
std::vector<Ledger> ledgers_of_all(const Solved& solved) {
  const auto rules = all_rules();
  std::vector<Ledger> out(rules.size());
  share_out(rules.size(), 2, [&] {
    return [&](std::size_t i) {
      go_on();
      rules[i]->judge(*rules[i], solved, out[i]);
    };
  });
  return out;
}

void close(Obligation& owed, const Loom& loom) {
  if (!owed.verdict) {
    owed.undecided("the rule came to no verdict on '" + owed.subject.name + "'",
                   "this is a fault of the program; please report the file");
  }
  for (const Waiver& waiver : loom.waivers) {
    if (owed.verdict != Verdict::holds && covers(waiver, owed)) owed.waived = waiver.reason;
  }
}

}  // namespace

Judgement judge(const Solved& solved) {
  Judgement out;
  Ledger assumed;  // says the same only once
  for (Ledger& ledger : ledgers_of_all(solved)) {
    for (Obligation& owed : ledger.all()) {
      close(owed, *solved.loom);
      out.obligations.push_back(std::move(owed));
    }
    for (const Assumption& made : ledger.assumptions()) assumed.assume(made.text, made.at);
    for (const SinglePoint& point : ledger.single_points()) assumed.single_point(point);
  }
  sort_for_reading(out.obligations);
  out.assumptions = assumed.assumptions();
  out.single_points = assumed.single_points();
  out.coverage.situations_covered = solved.situations_covered;
  out.coverage.situations_possible = solved.situations_possible;
  out.coverage.left_out = solved.left_out;
  out.coverage.in_between = solved.in_between;
  if (solved.faults) {
    const FaultWalk& walk = *solved.faults;
    out.coverage.single_faults = walk.faults.size();
    out.coverage.fault_states = walk.states;
    out.coverage.fault_points = walk.points;
    out.coverage.fault_pairs = walk.faults.size() * walk.watches.size();
    out.coverage.fault_bounded = walk.bounded;
    out.coverage.fault_cut = walk.cut;
    out.coverage.fault_left_out = walk.left_out;
  }
  return out;
}

}  // namespace loomproof
