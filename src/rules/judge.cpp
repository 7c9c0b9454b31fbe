// Runs every rule and closes what a rule left open.
#include "rules/ledger.h"
#include "rules/list.h"
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
  out.coverage = {solved.situations_covered, solved.situations_possible, solved.left_out};
  return out;
}

}  // namespace loomproof
