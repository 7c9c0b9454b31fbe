// brake-input: a brake switch reaches the controller and takes its torque away.
//
// docs/rules/brake-input.md
#include <algorithm>
#include <cmath>

#include "rules/list.h"
#include "rules/subject.h"

namespace loomproof {
namespace {

// Whether its line leads to a supply, by conductors and any position of the switches, and has no voltage to read in any
// situation: then that is told where it begins. A line that leads to none is wrong by itself.
bool supply_is_dead(const Solved& solved, const Input& input) {
  constexpr double no_voltage_v = 0.5;
  const Circuit& circuit = solved.circuit;
  const Elements& all = solved.loom->elements;
  const auto line = reached(solved.graph, circuit, circuit.node(input.terminal),
                            [&](const Branch& b) { return is_conductor(circuit, b); });
  const auto leads_to = [&](TerminalIndex pole) { return line[circuit.node(pole)] != 0; };
  const bool has_supply = std::any_of(all.sources.begin(), all.sources.end(),
                                      [&](const Source& s) { return s.zone != Zone::signal && leads_to(s.pos); }) ||
                          std::any_of(all.converters.begin(), all.converters.end(),
                                      [&](const Converter& c) { return leads_to(c.out_pos); });
  return has_supply && std::none_of(solved.points.begin(), solved.points.end(), [&](const OperatingPoint& point) {
           const int reference = circuit.node(input.reference);
           for (int n = 0; n < circuit.nodes; ++n) {
             const bool alive = line[n] != 0 && point.piece[n] == point.piece[reference] &&
                                std::fabs(point.node_v[n] - point.node_v[reference]) > no_voltage_v;
             if (alive) return true;
           }
           return false;
         });
}

void judge_input(const Solved& solved, std::size_t i, std::size_t torque, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const Input& input = loom.elements.inputs[i];
  if (!is_wired(loom, input.terminal)) {
    owed.broken(fmt::format("no brake switch is wired to '{}'", loom.title(input.terminal)))
        .note("the motor keeps pulling against the brake")
        .fix("wire every brake switch to it");
    return;
  }
  if (!input.on_above_v) {
    owed.undecided(fmt::format("the voltage at which '{}' reads braking is not given", owed.subject.name),
                   ask_for(loom, input, input.on_above_v, "8 V"));
    return;
  }
  bool asserted = false;
  bool torque_with_brake = false;
  bool rests = false;
  bool torque_ever = false;
  for (const OperatingPoint& point : solved.points) {
    const bool on = point.logic.input_on[i] != 0;
    const bool pulls = point.logic.output_on[torque] != 0;
    asserted |= on;
    rests |= !on;
    torque_ever |= pulls;
    torque_with_brake |= on && pulls;
  }
  if (!asserted && !torque_ever && supply_is_dead(solved, input)) {
    // What feeds the switch is dead, and so is the controller: that is told where it begins.
    owed.undecided(
        fmt::format("'{}' never reads braking, and the supply that its line leads to is live in no situation: "
                    "whether a brake takes the drive away is not shown",
                    owed.subject.name),
        "see what keeps its supply dead: the first findings of this list that speak of it");
  } else if (!asserted) {
    owed.broken(fmt::format("no position of any switch makes '{}' read braking", owed.subject.name))
        .note("it is wired so that it cannot cut the drive")
        .fix("the switch must bring the input past its threshold when the brake is applied");
  } else if (!rests) {
    owed.broken(fmt::format("'{}' reads braking in every position of every switch", owed.subject.name))
        .note("the vehicle cannot be driven, and the brake changes nothing")
        .fix("see what holds the input: a lamp to ground holds an active-low input for ever")
        .as(Severity::nuisance);
  } else if (torque_with_brake) {
    owed.broken(fmt::format("'{}' reads braking and the motor is still given torque", owed.subject.name))
        .fix("the controller's torque must depend on this input");
  } else if (!torque_ever) {
    owed.undecided(fmt::format("no situation gives torque in '{}', so that nothing shows whether brake, key or any "
                               "other switch takes it away",
                               loom.part(input.part).name),
                   "see what keeps the controller from driving: key, throttle window, permit, bus voltage");
  } else {
    owed.holds("braking takes the torque away in every switch state, without faults");
  }
}

void judge_brake_input(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Elements& all = solved.loom->elements;
  for (std::size_t o = 0; o < all.outputs.size(); ++o) {
    if (all.outputs[o].name != "torque") continue;
    bool found = false;
    for (std::size_t i = 0; i < all.inputs.size(); ++i) {
      if (all.inputs[i].part != all.outputs[o].part || all.inputs[i].name != "brake") continue;
      found = true;
      judge_input(solved, i, o, ledger.open(rule, subject_of(*solved.loom, all.inputs[i], true)));
    }
    if (found) continue;
    ledger.open(rule, subject_of(*solved.loom, all.outputs[o].part))
        .broken(fmt::format("'{}' has no input for a brake", solved.loom->part(all.outputs[o].part).name))
        .fix("use a controller with one, or let the brake open its enable");
  }
}

}  // namespace

const Rule brake_input{
    .slug = "brake-input",
    .group = Group::control,
    .severity = Severity::danger,
    .promise = "A brake switch reaches the controller and takes its torque away.",
    .judge = judge_brake_input,
};

}  // namespace loomproof
