// precharge-resistor: the precharge resistor stands every pulse, and the bus that never fills.
//
// docs/rules/precharge-resistor.md
#include <algorithm>
#include <cmath>

#include "rules/list.h"
#include "rules/subject.h"
#include "rules/worse.h"
#include "solve/charging.h"
#include "units/print.h"

namespace loomproof {
namespace {

// Times in a row that a hand turns the key, the bus empty each time (common practice, no source).
constexpr double in_a_row = 3;
// Where the contact closes at once, or never, the pulse is counted to here: exp(-10) is left.
constexpr double time_constants = 10;
// What lasts longer is steady heat, and held against the watts.
constexpr double longest_pulse_s = 10;

struct Path {
  const Solved& solved;
  const Closing& closing;
  const PrechargeRun& run;
  std::string where;
};

// A contact of the path that opens by itself, and after how long.
std::optional<double> opens_after_s(const Path& path) {
  std::optional<double> least;
  for (std::size_t i : path.closing.around) {
    const Branch& b = path.solved.circuit.branches[i];
    if (b.type != BranchType::contact) continue;
    const Datum& after = path.solved.loom->elements.contacts[b.index].opens_after_s;
    if (after && (!least || *after < *least)) least = *after;
  }
  return least;
}

std::string usual_watts(double watts) {
  return fmt::format("one of {} or more", show(Watt(watts)));
}

// The bus shorted or held down: the whole pack on the path, for as long as it stays closed.
void judge_short(const Path& path, const Resistance& r, Obligation& owed) {
  const Loom& loom = *path.solved.loom;
  const double amps = path.run.source_v / *path.closing.precharge_ohm;
  const double watts = amps * amps * *r.ohm;
  const auto after_s = opens_after_s(path);
  if (after_s && r.pulse_j) {
    const Figure figure{show(Joule(watts * *after_s)), show(Joule(*r.pulse_j)),
                        used_of_ceiling(watts * *after_s, *r.pulse_j)};
    if (figure.used <= 1) {
      owed.holds(figure, "full pack, bus shorted");
    } else {
      owed.broken(fmt::format("'{}' takes {} when the bus is shorted, before its relay opens after {}, and stands {}",
                              owed.subject.name, figure.value, show(Second(*after_s)), figure.limit),
                  figure, "full pack, bus shorted")
          .see(place_of(loom, r, r.pulse_j), "its pulse")
          .fix("a relay that opens sooner, or a resistor for a larger pulse");
    }
    return;
  }
  if (!r.watts_w) {
    owed.undecided(fmt::format("'{}' gets {} when the bus is shorted and its watts are not given", owed.subject.name,
                               show(Watt(watts))),
                   ask_for(loom, r, r.watts_w, "100 W"));
    return;
  }
  const Figure figure{show(Watt(watts)), show(Watt(*r.watts_w)), used_of_ceiling(watts, *r.watts_w)};
  if (figure.used <= 1) {
    owed.holds(figure, "full pack, bus shorted");
    return;
  }
  if (after_s) {
    owed.undecided(fmt::format("'{}' takes {} when the bus is shorted, before its relay opens after {}, and the pulse "
                               "that it stands is not given",
                               owed.subject.name, show(Joule(watts * *after_s)), show(Second(*after_s))),
                   ask_for(loom, r, r.pulse_j, "120 J"));
    return;
  }
  owed.broken(fmt::format("'{}' gets {} for ever when the bus is shorted or held down, and stands {}",
                          owed.subject.name, figure.value, figure.limit),
              figure, "full pack, bus shorted")
      .note("a shorted capacitor, a stuck relay, a load that never lets the bus rise: it glows and sets fire")
      .see(place_of(loom, r, r.watts_w), "its watts")
      .fix(fmt::format("{}, a larger resistance, or a relay that opens by itself (`opens_after: 5 s`)",
                       usual_watts(watts)));
}

// The relay stuck, or the contact never closing: what the bus draws flows through it for ever.
void judge_stuck(const Path& path, std::size_t k, const Resistance& r, Obligation& owed) {
  if (!r.watts_w || path.run.stretches.empty()) return;
  const double amps = path.run.stretches.back().to_resistor_a[k];
  const double watts = amps * amps * *r.ohm;
  const Figure figure{show(Watt(watts)), show(Watt(*r.watts_w)), used_of_ceiling(watts, *r.watts_w)};
  if (figure.used <= 1) {
    owed.holds(figure, path.where);
    return;
  }
  owed.broken(fmt::format("'{}' gets {} for ever when its relay sticks, and stands {}", owed.subject.name, figure.value,
                          figure.limit),
              figure, path.where)
      .see(place_of(*path.solved.loom, r, r.watts_w), "its watts")
      .fix(usual_watts(watts));
}

void judge_pulse(const Path& path, std::size_t k, const Resistance& r, Obligation& owed) {
  const Loom& loom = *path.solved.loom;
  const PrechargeRun& run = path.run;
  const double whole_s = time_constants * *path.closing.precharge_ohm * run.farad;
  const double until_s = run.closes_s && *run.closes_s > 0 ? *run.closes_s : whole_s;
  const double once_j = resistor_heat_j(run, loom, k, std::min({until_s, whole_s, longest_pulse_s}));
  if (!r.pulse_j) {
    owed.undecided(fmt::format("'{}' takes {} each time and the pulse that it stands is not given", owed.subject.name,
                               show(Joule(once_j))),
                   ask_for(loom, r, r.pulse_j, "120 J"));
    return;
  }
  const double row_j = in_a_row * once_j;
  const Figure figure{show(Joule(row_j)), show(Joule(*r.pulse_j)), used_of_ceiling(row_j, *r.pulse_j)};
  if (figure.used <= 1) {
    owed.holds(figure, path.where);
    return;
  }
  owed.broken(fmt::format("'{}' takes {} when the key is turned three times in a row, and stands {}", owed.subject.name,
                          figure.value, figure.limit),
              figure, path.where)
      .note(fmt::format("{} each time; the resistance does not change that", show(Joule(once_j))))
      .see(place_of(loom, r, r.pulse_j), "its pulse")
      .fix("a wirewound resistor for a larger pulse");
}

void judge_precharge_resistor(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (const auto& [closing, situations, runs] : solved.chargings) {
    if (runs.empty() || !loom.elements.capacitances[closing.capacitance].farad) continue;
    const Path path{solved, closing, runs.back(), solved.describe(situations.back())};
    for (std::size_t k = 0; k < path.run.resistors.size(); ++k) {
      const Resistance& r = loom.elements.resistances[path.run.resistors[k]];
      Obligation& owed = ledger.open(rule, subject_of(loom, r.part));
      if (!path.run.trouble.empty()) {
        owed.undecided(
            fmt::format("the charging through '{}' did not come to an end: {}", owed.subject.name, path.run.trouble),
            "see what comes-to-rest says");
        continue;
      }
      keep_worse(owed, [&](Obligation& trial) { judge_pulse(path, k, r, trial); });
      keep_worse(owed, [&](Obligation& trial) { judge_short(path, r, trial); });
      keep_worse(owed, [&](Obligation& trial) { judge_stuck(path, k, r, trial); });
    }
  }
}

}  // namespace

const Rule precharge_resistor{
    .slug = "precharge-resistor",
    .group = Group::inrush,
    .severity = Severity::danger,
    .promise = "The precharge resistor stands every pulse, and the bus that never fills.",
    .judge = judge_precharge_resistor,
};

}  // namespace loomproof
