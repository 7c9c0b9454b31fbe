// Runs every rule and closes what a rule left open.
#include "rules/ledger.h"
#include "rules/list.h"
#include "solve/fault_walk.h"
#include "solve/solved.h"

namespace loomproof {
namespace {

bool covers(const Waiver& waiver, const Obligation& owed) {
  return waiver.rule == owed.rule->slug && (waiver.subject.empty() || waiver.subject == owed.subject.name);
}

}  // namespace

Judgement judge(const Solved& solved) {
  Ledger ledger;
  for (const Rule* rule : all_rules()) rule->judge(*rule, solved, ledger);
  Judgement out;
  for (Obligation& owed : ledger.all()) {
    if (!owed.verdict) {
      owed.undecided("the rule came to no verdict on '" + owed.subject.name + "'",
                     "this is a fault of the program; please report the file");
    }
    for (const Waiver& waiver : solved.loom->waivers) {
      if (owed.verdict != Verdict::holds && covers(waiver, owed)) owed.waived = waiver.reason;
    }
    out.obligations.push_back(std::move(owed));
  }
  sort_for_reading(out.obligations);
  out.assumptions = ledger.assumptions();
  out.single_points = ledger.single_points();
  out.coverage.situations_covered = solved.situations_covered;
  out.coverage.situations_possible = solved.situations_possible;
  out.coverage.left_out = solved.left_out;
  if (solved.faults) {
    const FaultWalk& walk = *solved.faults;
    out.coverage.single_faults = walk.faults.size();
    out.coverage.fault_states = walk.states;
    out.coverage.fault_points = walk.points;
    out.coverage.fault_cut = walk.cut;
    out.coverage.fault_left_out = walk.left_out;
  }
  return out;
}

}  // namespace loomproof
