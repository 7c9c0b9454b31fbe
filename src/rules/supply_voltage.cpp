// supply-voltage: every part is fed within the voltage that it is made for, at full and at empty pack.
//
// docs/rules/supply-voltage.md
#include "rules/list.h"
#include "rules/subject.h"
#include "units/print.h"

namespace loomproof {
namespace {

// A coil bears 1.3 times its rated voltage for long (common practice, no source).
constexpr double coil_share = 1.3;

bool many_of(const Loom& loom, const Element& e) {
  return loom.kind_of(loom.part(e.part)).inside.size() > 2;
}

void too_high(const Solved& solved, const Extreme& highest, double limit_v, Place limit_at, Obligation& owed) {
  const Figure figure{show(Volt(highest.value)), show(Volt(limit_v)), used_of_ceiling(highest.value, limit_v)};
  if (figure.used <= 1) {
    owed.holds(figure, solved.describe(highest));
    return;
  }
  owed.broken(fmt::format("'{}' is fed {} and stands {}", owed.subject.name, figure.value, figure.limit), figure,
              solved.describe(highest))
      .see(limit_at, "what it is made for")
      .fix("feed it from the supply that it is made for");
}

void judge_load(const Rule& rule, const Solved& solved, std::size_t i, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Load& load = loom.elements.loads[i];
  const Extreme& highest = solved.extremes.load_high_v[i];
  constexpr double no_voltage_v = 0.5;
  if (!is_wired(loom, load.pos) || !is_wired(loom, load.neg)) return;
  Obligation& owed = ledger.open(rule, subject_of(loom, load, many_of(loom, load)));
  if (!highest || highest.value < no_voltage_v) {
    owed.holds("fed in no situation");
    return;
  }
  if (!load.high_v) {
    // Sensors and watch circuits of another part are that part's own business.
    if (load.high_v.attribute.empty()) {
      owed.holds("fed as its own part feeds it");
      return;
    }
    owed.undecided(
        fmt::format("'{}' is fed {} and what it stands is not given", owed.subject.name, show(Volt(highest.value))),
        ask_for(loom, load, load.high_v, load.high_v.attribute == "volts" ? "12 V" : "36 V to 75 V"));
    return;
  }
  too_high(solved, highest, *load.high_v, place_of(loom, load, load.high_v), owed);
  const Extreme& lowest = solved.extremes.load_low_v[i];
  if (owed.verdict != Verdict::holds || !load.low_v || !lowest) return;
  const Figure floor{show(Volt(lowest.value)), show(Volt(*load.low_v)), used_of_floor(lowest.value, *load.low_v)};
  if (floor.used <= 1) {
    owed.holds(floor, solved.describe(lowest));
    return;
  }
  owed.broken(fmt::format("'{}' gets {} and works from {}", owed.subject.name, floor.value, floor.limit), floor,
              solved.describe(lowest))
      .see(place_of(loom, load, load.low_v), "what it is made for")
      .fix("a part made for this supply, or a larger wire if the way there loses it");
}

void judge_coil(const Rule& rule, const Solved& solved, std::size_t i, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Coil& coil = loom.elements.coils[i];
  Obligation& owed = ledger.open(rule, subject_of(loom, coil, true));
  const Extreme& highest = solved.extremes.coil_high_v[i];
  if (!coil.volts_v || !coil.ohm) {
    owed.undecided(fmt::format("the coil of '{}' is not described", loom.part(coil.part).name),
                   ask_for(loom, coil, coil.volts_v ? coil.ohm : coil.volts_v, "12 V 1 A"));
    return;
  }
  if (!highest) {
    owed.holds("fed in no situation");
    return;
  }
  too_high(solved, highest, coil_share * *coil.volts_v, place_of(loom, coil, coil.volts_v), owed);
  const Extreme& lowest = solved.extremes.coil_low_v[i];
  if (owed.verdict != Verdict::holds || !lowest || !coil.pull_in_v) return;
  const Figure floor{show(Volt(lowest.value)), show(Volt(*coil.pull_in_v)),
                     used_of_floor(lowest.value, *coil.pull_in_v)};
  if (floor.used <= 1) owed.holds(floor, solved.describe(lowest));
}

void judge_converter(const Rule& rule, const Solved& solved, std::size_t i, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Converter& c = loom.elements.converters[i];
  Obligation& owed = ledger.open(rule, subject_of(loom, c.part));
  const Extreme& highest = solved.extremes.converter_high_v[i];
  if (!highest || highest.value < 0.5) {
    owed.undecided(fmt::format("'{}' is fed in no situation that was settled", owed.subject.name),
                   "see whether its input is wired as meant");
    return;
  }
  if (!c.high_v || !c.low_v) {
    owed.undecided(
        fmt::format("'{}' is fed {} and its input window is not given", owed.subject.name, show(Volt(highest.value))),
        fmt::format("write `in: 36 V to 75 V` in part '{}'", owed.subject.name));
    return;
  }
  too_high(solved, highest, *c.high_v, place_of(loom, c, c.high_v), owed);
  const Extreme& lowest = solved.extremes.converter_low_v[i];
  if (owed.verdict != Verdict::holds) return;
  if (!lowest) {
    owed.broken(fmt::format("'{}' is fed {} at most and works from {}", owed.subject.name, show(Volt(highest.value)),
                            show(Volt(*c.low_v))),
                Figure{show(Volt(highest.value)), show(Volt(*c.low_v)), used_of_floor(highest.value, *c.low_v)},
                solved.describe(highest))
        .see(place_of(loom, c, c.low_v), "what it is made for")
        .fix("a converter made for this pack");
    return;
  }
  // It runs within its window only, so an empty pack below the window shows in the pack's own numbers.
  for (const Source& s : loom.elements.sources) {
    if (s.zone != Zone::traction || !s.sinks || !s.empty_v ||
        solved.circuit.island_of[solved.circuit.node(s.pos)] !=
            solved.circuit.island_of[solved.circuit.node(c.in_pos)]) {
      continue;
    }
    if (*s.empty_v < *c.low_v) {
      owed.broken(fmt::format("'{}' stops at {} and the empty pack has {}", owed.subject.name, show(Volt(*c.low_v)),
                              show(Volt(*s.empty_v))),
                  Figure{show(Volt(*s.empty_v)), show(Volt(*c.low_v)), used_of_floor(*s.empty_v, *c.low_v)},
                  "empty pack")
          .see(place_of(loom, c, c.low_v), "what it is made for")
          .fix("a converter that works down to the empty pack, or lights and contactor go out before the ride ends");
    }
  }
}

void judge(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Elements& all = solved.loom->elements;
  for (std::size_t i = 0; i < all.loads.size(); ++i) judge_load(rule, solved, i, ledger);
  for (std::size_t i = 0; i < all.coils.size(); ++i) judge_coil(rule, solved, i, ledger);
  for (std::size_t i = 0; i < all.converters.size(); ++i) judge_converter(rule, solved, i, ledger);
}

}  // namespace

const Rule supply_voltage{
    .slug = "supply-voltage",
    .group = Group::insulation,
    .severity = Severity::damage,
    .promise = "Every part is fed within the voltage that it is made for, at full and at empty pack.",
    .judge = judge,
};

}  // namespace loomproof
