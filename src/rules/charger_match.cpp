// charger-match: a charger ends at the pack's own full voltage and gives no more than its cells may take.
//
// docs/rules/charger-match.md
#include <cmath>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/pack_duty.h"
#include "units/print.h"

namespace loomproof {
namespace {

// A charger's own tolerance, which the cells stand: half a percent (common practice, no source).
constexpr double tolerance = 0.005;

void judge_volts(const Loom& loom, const Source& charger, const PackPoles& pack, Obligation& owed) {
  if (!charger.full_v || pack.full_v <= 0) {
    owed.undecided(fmt::format("final voltage of '{}' is not given", loom.part(charger.part).name),
                   ask_for(loom, charger, charger.full_v, "58.4 V"));
    return;
  }
  const double out_v = *charger.full_v;
  const Figure figure{show(Volt(out_v)), show(Volt(pack.full_v)), out_v / (pack.full_v * (1 + tolerance))};
  if (figure.used > 1) {
    owed.broken(fmt::format("'{}' charges up to {} and '{}' is full at {}", loom.part(charger.part).name, figure.value,
                            loom.part(pack.part).name, figure.limit),
                figure)
        .note("overcharged cells vent and burn, hours later and with nobody near")
        .see(place_of(loom, charger, charger.full_v), "final voltage")
        .fix(fmt::format("a charger for {}", figure.limit));
    return;
  }
  const Source& cells = loom.elements.sources[pack.source];
  const double nominal_v = cells.nominal_v ? *cells.nominal_v : 0;
  if (out_v < nominal_v) {
    owed.broken(fmt::format("'{}' ends at {}, where '{}' is half empty: {} is full", loom.part(charger.part).name,
                            figure.value, loom.part(pack.part).name, figure.limit),
                Figure{figure.value, show(Volt(nominal_v)), nominal_v / out_v})
        .see(place_of(loom, charger, charger.full_v), "final voltage")
        .fix(fmt::format("a charger for {}", figure.limit))
        .as(Severity::nuisance);
    return;
  }
  owed.holds(figure);
}

void judge_amps(const Loom& loom, const Source& charger, const PackPoles& pack, Obligation& owed) {
  const Source& cells = loom.elements.sources[pack.source];
  if (!charger.limit_a) {
    owed.undecided(fmt::format("largest current of '{}' is not given", loom.part(charger.part).name),
                   ask_for(loom, charger, charger.limit_a, "15 A"));
    return;
  }
  if (!cells.charge_a) {
    owed.undecided(fmt::format("'{}' charges with {} and what '{}' may take is not given", loom.part(charger.part).name,
                               show(Ampere(*charger.limit_a)), loom.part(pack.part).name),
                   ask_for(loom, cells, cells.charge_a, "40 A"));
    return;
  }
  const Figure figure{show(Ampere(*charger.limit_a)), show(Ampere(*cells.charge_a)),
                      used_of_ceiling(*charger.limit_a, *cells.charge_a)};
  if (figure.used <= 1) {
    owed.holds(figure);
    return;
  }
  owed.broken(fmt::format("'{}' charges with {} and '{}' may take {}", loom.part(charger.part).name, figure.value,
                          loom.part(pack.part).name, figure.limit),
              figure)
      .see(place_of(loom, charger, charger.limit_a), "largest current")
      .see(place_of(loom, cells, cells.charge_a), "largest charging current")
      .fix("a smaller charger");
}

void judge_charger_match(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const auto packs = packs_of(solved.circuit);
  for (const Source& s : loom.elements.sources) {
    if (s.zone != Zone::traction || s.sinks) continue;
    for (const PackPoles& pack : packs) {
      if (solved.circuit.island_of[solved.circuit.node(s.pos)] != solved.circuit.island_of[pack.pos]) continue;
      Subject volts = subject_of(loom, s.part);
      volts.name += ".out";
      judge_volts(loom, s, pack, ledger.open(rule, std::move(volts)));
      Subject amps = subject_of(loom, s.part);
      amps.name += ".limit";
      judge_amps(loom, s, pack, ledger.open(rule, std::move(amps)));
    }
  }
}

}  // namespace

const Rule charger_match{
    .slug = "charger-match",
    .group = Group::source,
    .severity = Severity::danger,
    .promise = "A charger ends at the pack's own full voltage and gives no more than its cells may take.",
    .judge = judge_charger_match,
};

}  // namespace loomproof
