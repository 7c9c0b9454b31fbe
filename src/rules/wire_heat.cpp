// wire-heat: no conductor gets hotter than its own insulation allows, in any situation and over any ride.
//
// Judged by computed temperature, not by an ampacity table: bundle, ambient and how long the current lasts are already
// in the solution. Formula and source: docs/rules/wire-heat.md
#include "rules/list.h"
#include "rules/subject.h"
#include "solve/insulation.h"
#include "units/print.h"

namespace loomproof {
namespace {

std::string lasting(const WireHeat& heat) {
  return heat.lasts ? fmt::format("{} for {}", show(heat.current), show(*heat.lasts)) : show(heat.current) + " held";
}

// Smallest usual size that stays below the limit with the same current held for ever, alone in the same surroundings.
std::string larger_size(const Wire& wire, const WireHeat& heat, std::string_view insulation) {
  for (double size : {0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0, 120.0}) {
    if (size <= wire.size->value.value) continue;
    const auto build = wire_build(SquareMillimetre(size), insulation);
    const auto hot = build ? judged_temperature(*build, heat.current, heat.around) : std::nullopt;
    if (hot && *hot <= heat.limit)
      return fmt::format("{} stays below {}", show(SquareMillimetre(size)), show(heat.limit));
  }
  return "no usual size stays below its limit here: lower the current, cool the run, or split it over two wires";
}

void judge_wire_heat(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (std::size_t w = 0; w < loom.wires.size(); ++w) {
    const Wire& wire = loom.wires[w];
    const WireHeat& heat = solved.heat[w];
    Obligation& owed = ledger.open(rule, subject_of(loom, WireIndex{w}));
    if (!wire.size) {
      owed.undecided(fmt::format("size of '{}' is not given", wire.name), "write `size: 2.5 mm2` (or in AWG) in it");
      continue;
    }
    const std::string insulation = wire.insulation ? wire.insulation->value : std::string(assumed_insulation);
    if (!find_insulation(insulation)) {
      ask_insulation(wire, owed);
      continue;
    }
    if (!wire.insulation)
      ledger.assume(fmt::format("insulation of '{}' taken as {}", wire.name, assumed_insulation), wire.at);
    const std::string where =
        heat.bundle ? fmt::format("{}, in bundle '{}'", heat.when, loom.bundles[heat.bundle->value].name) : heat.when;
    if (heat.state == WireHeat::State::melts) {
      owed.broken(fmt::format("'{}' carries {} and finds no balance below the melting point of copper", wire.name,
                              lasting(heat)),
                  Figure{"no balance", show(heat.limit), 1e6}, where)
          .fix(larger_size(wire, heat, insulation));
      continue;
    }
    // A share of the temperature itself would call a cold wire in warm air half used: the rise is what is used up.
    const double allowed_rise = heat.limit.value - heat.around.value;
    const double rise = heat.peak.value - heat.around.value;
    const double used = heat.peak > heat.limit
                            ? std::max(1.0 + 1e-6, used_of_ceiling(rise, std::max(allowed_rise, 1e-9)))
                            : (allowed_rise > 0 ? std::clamp(rise / allowed_rise, 0.0, 1.0) : 1.0);
    const Figure figure{show(heat.peak), show(heat.limit), used};
    if (heat.peak <= heat.limit) {
      owed.holds(figure, where);
      continue;
    }
    if (!wire.insulation) {
      owed.undecided(
          fmt::format("insulation of '{}' is not given, and the least that is sold, {}, would not do: {} reached",
                      wire.name, assumed_insulation, show(heat.peak)),
          "write `insulation:` as printed on the cable");
      continue;
    }
    owed.broken(
            fmt::format("'{}' reaches {} and its insulation allows {}", wire.name, show(heat.peak), show(heat.limit)),
            figure, where)
        .note(fmt::format("carries {} in {} around it", lasting(heat), show(heat.around)))
        .see(wire.insulation->at, "limit set by this insulation")
        .fix(larger_size(wire, heat, insulation));
  }
}

}  // namespace

const Rule wire_heat{
    .slug = "wire-heat",
    .group = Group::conductors,
    .severity = Severity::danger,
    .promise = "No conductor gets hotter than its insulation allows, in any situation and over any ride.",
    .judge = judge_wire_heat,
};

}  // namespace loomproof
