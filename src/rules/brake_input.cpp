// brake-input: a brake switch reaches the controller and takes its torque away.
//
// docs/rules/brake-input.md
#include <algorithm>
#include <cmath>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/brake_lamps.h"
#include "solve/by_state.h"

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

// What leaving the first position of a switch, which is its rest, does to a brake input.
struct Sense {
  bool ever_brakes = false;            // some switch brings it to read braking
  std::optional<Brake> lets_go;        // some switch ends that, and the motor is given torque
  const Situation* pulling = nullptr;  // there
};

// But for torque and what follows from braking the part is in the same state: no key, no permit moved.
bool only_brake_differs(const Elements& all, std::size_t input, const LogicState& a, const LogicState& b) {
  const PartIndex part = all.inputs[input].part;
  for (std::size_t i = 0; i < all.inputs.size(); ++i) {
    if (i != input && all.inputs[i].part == part && a.input_on[i] != b.input_on[i]) return false;
  }
  for (std::size_t o = 0; o < all.outputs.size(); ++o) {
    const bool follows = all.outputs[o].name == "torque" || all.outputs[o].name == "regenerating";
    if (!follows && all.outputs[o].part == part && a.output_on[o] != b.output_on[o]) return false;
  }
  return true;
}

Sense sense_of(const Solved& solved, std::size_t input, std::size_t torque) {
  const Loom& loom = *solved.loom;
  ByState<OperatingPoint> by_state;
  for (const OperatingPoint& point : solved.points) {
    if (!point.situation.duty) by_state.add(point.situation, point);
  }
  by_state.close();
  Sense out;
  std::vector<std::int8_t> moved;
  for (const auto& [situation, rest] : by_state) {
    for (std::size_t p = 0; p < loom.parts.size(); ++p) {
      if (situation->positions[p] != 0) continue;
      for (std::size_t k = 1; k < loom.parts[p].positions.size(); ++k) {
        moved = situation->positions;
        moved[p] = static_cast<std::int8_t>(k);
        const OperatingPoint* const then = by_state.at(situation->charge, moved);
        if (then == nullptr || then->logic.input_on[input] == rest->logic.input_on[input]) continue;
        if (!only_brake_differs(loom.elements, input, rest->logic, then->logic)) continue;
        if (then->logic.input_on[input] != 0) {
          out.ever_brakes = true;
          return out;  // no more is asked of one that does
        }
        if (!out.lets_go && rest->logic.output_on[torque] == 0 && then->logic.output_on[torque] != 0) {
          out.lets_go = Brake{PartIndex{p}, static_cast<int>(k)};
          out.pulling = &then->situation;
        }
      }
    }
  }
  return out;
}

// A switch that opens on an input which reads braking from the voltage that it then takes away, or the other way round.
bool judge_sense(const Solved& solved, std::size_t i, std::size_t torque, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const Sense sense = sense_of(solved, i, torque);
  if (sense.ever_brakes || !sense.lets_go) return false;
  const Input& input = loom.elements.inputs[i];
  const Part& brake = loom.part(sense.lets_go->part);
  const std::string& applied = brake.positions[static_cast<std::size_t>(sense.lets_go->position)];
  owed.broken(fmt::format("the sense of '{}' is turned: it reads braking with '{}' {} and not with it {}",
                          loom.title(input.terminal), brake.name, brake.positions[0], applied),
              std::nullopt, solved.describe(*sense.pulling))
      .note("the motor pulls as soon as the brake is applied, and no switch makes the input read braking")
      .note(fmt::format("it reads braking when its voltage is {}; the first position of a switch is its rest",
                        input.active_high ? "high" : "low"))
      .fix(fmt::format("take the contact of '{}' that opens where this one closes, and closes where it opens",
                       brake.name));
  return true;
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
  } else if (judge_sense(solved, i, torque, owed)) {
    return;
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
