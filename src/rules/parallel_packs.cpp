// parallel-packs: packs that a switch or plug can put in parallel survive being joined with unequal charge.
//
// Surge = difference of voltage over both resistances and what lies between, one full and one empty.
// docs/rules/parallel-packs.md
#include <algorithm>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/pack_duty.h"
#include "units/print.h"

namespace loomproof {
namespace {

double way_ohm(const Solved& solved, int from, int to) {
  double ohm = 0;
  for (std::size_t i : walk_between(solved.graph, solved.circuit, from, to, [&](const Branch& b) {
         return b.type != BranchType::diode && is_conductor(solved.circuit, b);
       }))
    ohm += solved.circuit.branches[i].ohm;
  return ohm;
}

void judge_pair(const Solved& solved, const PackPoles& full, const PackPoles& empty, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const std::string pair = fmt::format("'{}' and '{}'", loom.part(full.part).name, loom.part(empty.part).name);
  const Source& giver = loom.elements.sources[full.source];
  const Source& taker = loom.elements.sources[empty.source];
  if (!full.ohm_known || !empty.ohm_known) {
    const PackPoles& unknown = full.ohm_known ? empty : full;
    owed.undecided(
        fmt::format("{} can be joined, and the resistance of '{}' is not given", pair, loom.part(unknown.part).name),
        "write `cell_resistance:` in it");
    return;
  }
  if (!taker.charge_a) {
    owed.undecided(fmt::format("{} can be joined, and what '{}' may be charged with is not given", pair,
                               loom.part(empty.part).name),
                   ask_for(loom, taker, taker.charge_a, "40 A"));
    return;
  }
  const double ohm = full.ohm + empty.ohm + way_ohm(solved, full.pos, empty.pos) + way_ohm(solved, full.neg, empty.neg);
  const double step_v = full.full_v - empty.empty_v;
  const double surge_a = std::max(0.0, step_v) / ohm;
  const double given_a = giver.peak_a ? *giver.peak_a : giver.continuous_a ? *giver.continuous_a : *taker.charge_a;
  const double stands_a = std::min(*taker.charge_a, given_a);
  const Figure figure{show(Ampere(surge_a)), show(Ampere(stands_a)), used_of_ceiling(surge_a, stands_a)};
  const std::string when = "one full, the other empty";
  if (figure.used <= 1) {
    owed.holds(figure, when);
    return;
  }
  owed.broken(fmt::format("joining {} with unequal charge drives {} from one into the other, and {} is what they stand",
                          pair, figure.value, figure.limit),
              figure, when)
      .note(fmt::format("{} over {}; a difference of {} would do no harm", show(Volt(step_v)), show(Ohm(ohm)),
                        show(Volt(stands_a * ohm))))
      .see(loom.part(empty.part).at, "the pack that is charged")
      .fix(
          "a diode or contactor of its own for each pack that closes at equal voltage only, or join them once, "
          "equalised, "
          "and never part them");
}

void judge_parallel_packs(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const auto packs = packs_of(solved.circuit);
  if (packs.size() < 2) return;
  const auto joined = joined_without_diodes(solved.circuit, solved.graph);
  for (std::size_t a = 0; a < packs.size(); ++a) {
    for (std::size_t b = a + 1; b < packs.size(); ++b) {
      Obligation& owed = ledger.open(rule, subject_of(*solved.loom, packs[b].part));
      if (joined[packs[a].pos] != joined[packs[b].pos] || joined[packs[a].neg] != joined[packs[b].neg]) {
        owed.holds("never in parallel with '" + solved.loom->part(packs[a].part).name + "'");
        continue;
      }
      const bool a_higher = packs[a].full_v - packs[b].empty_v >= packs[b].full_v - packs[a].empty_v;
      judge_pair(solved, a_higher ? packs[a] : packs[b], a_higher ? packs[b] : packs[a], owed);
    }
  }
}

}  // namespace

const Rule parallel_packs{
    .slug = "parallel-packs",
    .group = Group::source,
    .severity = Severity::danger,
    .promise = "Packs that a switch or plug can put in parallel survive being joined with unequal charge.",
    .judge = judge_parallel_packs,
};

}  // namespace loomproof
