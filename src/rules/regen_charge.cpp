// regen-charge: the pack can take what the controller gives back.
//
// docs/rules/regen-charge.md
#include <algorithm>
#include <cmath>

#include "rules/list.h"
#include "rules/subject.h"
#include "units/print.h"

namespace loomproof {
namespace {

// What the duty points have it give back, or its own limit where that is given and is more.
double given_back_a(const Solved& solved, const Load& bus) {
  const Loom& loom = *solved.loom;
  double most = 0;
  for (const DutyPoint& duty : loom.duty) {
    for (const ChannelCurrent& c : duty.currents) {
      if (c.part == bus.part && c.channel == bus.channel) most = std::max(most, -c.amps.value);
    }
  }
  const auto limit = loom.part(bus.part).number("regen_limit");
  return limit ? std::max(most, *limit) : most;
}

void judge(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (const Load& bus : loom.elements.loads) {
    if (bus.channel != "battery") continue;
    const double back_a = given_back_a(solved, bus);
    if (back_a <= 0) continue;
    for (const Source& pack : loom.elements.sources) {
      if (pack.zone != Zone::traction || !pack.sinks || pack.when.op != Condition::Op::always) continue;
      const bool first_section =
          std::find_if(loom.elements.sources.begin(), loom.elements.sources.end(), [&](const Source& s) {
            return s.part == pack.part;
          })->neg == pack.neg;
      if (!first_section) continue;
      Obligation& owed = ledger.open(rule, subject_of(loom, bus.part));
      if (!pack.charge_a) {
        owed.undecided(fmt::format("'{}' gives back {} and what '{}' takes is not given", loom.part(bus.part).name,
                                   show(Ampere(back_a)), loom.part(pack.part).name),
                       fmt::format("write `charge: 60 A` in part '{}'", loom.part(pack.part).name));
        continue;
      }
      const Figure figure{show(Ampere(back_a)), show(Ampere(*pack.charge_a)), used_of_ceiling(back_a, *pack.charge_a)};
      if (figure.used <= 1) {
        owed.holds(figure);
        continue;
      }
      owed.broken(fmt::format("'{}' gives back {} and '{}' takes {}", loom.part(bus.part).name, figure.value,
                              loom.part(pack.part).name, figure.limit),
                  figure)
          .see(place_of(loom, pack, pack.charge_a), "what the pack takes")
          .note("a battery management that opens the contactor against it leaves the current no way but a rising bus")
          .fix(fmt::format("set the controller to {} or less", figure.limit));
    }
  }
}

}  // namespace

const Rule regen_charge{
    .slug = "regen-charge",
    .group = Group::control,
    .severity = Severity::damage,
    .promise = "The pack can take what the controller gives back.",
    .judge = judge,
};

}  // namespace loomproof
