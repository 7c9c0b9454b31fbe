// brake-input: a brake switch reaches the controller and takes its torque away.
//
// docs/rules/brake-input.md
#include <algorithm>
#include <cmath>

#include "rules/called.h"
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

// A switch with which the input reads braking at its first position, its rest, and lets go once it is left.
struct Turned {
  Brake applied;
  const Situation* pulling = nullptr;  // in which the motor is given torque with it applied
  bool both = false;                   // in another state it does as it should: something cancels it
};

// What single moves of the switches do to a brake input, in states in which it alone decides about the torque.
class Senses {
 public:
  Senses(const Solved& solved, std::size_t input, std::size_t torque)
      : loom_(*solved.loom), input_(input), torque_(torque) {
    for (const OperatingPoint& point : solved.points) {
      if (!point.situation.duty) by_state_.add(point.situation, point);
    }
    by_state_.close();
  }

  /// Each once.
  std::vector<Turned> turned() const {
    std::vector<Turned> out;
    std::vector<std::int8_t> moved;
    for (const auto& [situation, then] : by_state_) {
      if (!pulls(*then)) continue;
      for (std::size_t p = 0; p < loom_.parts.size(); ++p) {
        const int at = situation->positions[p];
        if (at == 0 || has(out, p)) continue;
        moved = situation->positions;
        moved[p] = 0;
        const OperatingPoint* const rest = by_state_.at(situation->charge, moved);
        if (rest == nullptr || rest->logic.input_on[input_] == 0 || !differ_in_brake(rest->logic, then->logic))
          continue;
        out.push_back({Brake{PartIndex{p}, at}, &then->situation});
      }
    }
    for (Turned& t : out) t.both = brakes(t.applied.part.value);
    return out;
  }

  /// All that do is called a stand or a seat: no brake reaches the input.
  std::optional<PartIndex> stand_alone() const {
    std::optional<PartIndex> stand;
    for (std::size_t p = 0; p < loom_.parts.size(); ++p) {
      if (is_called_stand(loom_, PartIndex{p}) && brakes(p)) stand = PartIndex{p};
    }
    for (std::size_t p = 0; stand && p < loom_.parts.size(); ++p) {
      if (loom_.parts[p].positions.size() > 1 && !is_called_stand(loom_, PartIndex{p}) && brakes(p))
        return std::nullopt;
    }
    return stand;
  }

  /// A switch that does as it should; nothing: none does.
  std::optional<PartIndex> right() const {
    for (std::size_t p = 0; p < loom_.parts.size(); ++p) {
      if (loom_.parts[p].positions.size() > 1 && brakes(p)) return PartIndex{p};
    }
    return std::nullopt;
  }

 private:
  static bool has(const std::vector<Turned>& list, std::size_t p) {
    return std::any_of(list.begin(), list.end(), [&](const Turned& t) { return t.applied.part.value == p; });
  }

  bool pulls(const OperatingPoint& point) const {
    return point.logic.output_on[torque_] != 0 && point.logic.input_on[input_] == 0;
  }

  // Leaving its rest takes the torque away by this input.
  bool brakes(std::size_t p) const {
    std::vector<std::int8_t> moved;
    for (const auto& [situation, rest] : by_state_) {
      if (situation->positions[p] != 0 || !pulls(*rest)) continue;
      for (std::size_t k = 1; k < loom_.parts[p].positions.size(); ++k) {
        moved = situation->positions;
        moved[p] = static_cast<std::int8_t>(k);
        const OperatingPoint* const then = by_state_.at(situation->charge, moved);
        if (then != nullptr && then->logic.input_on[input_] != 0 && differ_in_brake(rest->logic, then->logic)) {
          return true;
        }
      }
    }
    return false;
  }

  // But for torque and what follows from braking the part is in the same state: no key has moved. The permit may have,
  // since a brake with two contacts takes that away as well.
  bool differ_in_brake(const LogicState& a, const LogicState& b) const {
    const Elements& all = loom_.elements;
    const PartIndex part = all.inputs[input_].part;
    for (std::size_t i = 0; i < all.inputs.size(); ++i) {
      const bool permits = all.inputs[i].name == "permit" || all.inputs[i].name == "inhibit";
      if (i != input_ && !permits && all.inputs[i].part == part && a.input_on[i] != b.input_on[i]) return false;
    }
    for (std::size_t o = 0; o < all.outputs.size(); ++o) {
      const bool follows = all.outputs[o].name == "torque" || all.outputs[o].name == "regenerating";
      if (!follows && all.outputs[o].part == part && a.output_on[o] != b.output_on[o]) return false;
    }
    return true;
  }

  const Loom& loom_;
  std::size_t input_, torque_;
  ByState<OperatingPoint> by_state_;
};

// Said to be one: by its kind or name, or by a requirement that it takes the torque away.
bool is_meant(const Loom& loom, const Brake& brake) {
  if (is_called_brake(loom, brake.part)) return true;
  return std::any_of(loom.musts.begin(), loom.musts.end(), [&](const Must& must) {
    return must.never && must.output && must.output->second == "torque" && must.when.size() == 1 &&
           must.when.front() == std::pair(brake.part, brake.position);
  });
}

std::string exchange_of(const Part& brake) {
  return fmt::format("take the contact of '{}' that opens where this one closes, and closes where it opens",
                     brake.name);
}

// A switch that opens on an input which reads braking from the voltage that it then takes away, or the other way round.
bool judge_sense(const Solved& solved, std::size_t i, const std::vector<Turned>& turned, Obligation& owed) {
  if (turned.empty()) return false;
  const Loom& loom = *solved.loom;
  const Input& input = loom.elements.inputs[i];
  const Part& brake = loom.part(turned.front().applied.part);
  const std::string& applied = brake.positions[static_cast<std::size_t>(turned.front().applied.position)];
  owed.broken(fmt::format("the sense of '{}' is turned: it reads braking with '{}' {} and not with it {}",
                          loom.title(input.terminal), brake.name, brake.positions[0], applied),
              std::nullopt, solved.describe(*turned.front().pulling))
      .of_wiring()
      .note("the motor pulls as soon as the brake is applied, and no switch makes the input read braking")
      .note(fmt::format("it reads braking when its voltage is {}; the first position of a switch is its rest",
                        input.active_high ? "high" : "low"));
  for (std::size_t k = 1; k < turned.size(); ++k)
    owed.note(fmt::format("so with '{}'", loom.part(turned[k].applied.part).name));
  owed.fix(exchange_of(brake));
  return true;
}

// Beside one that is right: it is the switch that is turned, not the input's sense. What nothing calls a brake may be
// a stand or a latch whose first position is not the one that is ridden in.
void judge_turned(const Rule& rule, const Solved& solved, const Input& input, PartIndex right, const Turned& turned,
                  Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Part& brake = loom.part(turned.applied.part);
  const std::string& applied = brake.positions[static_cast<std::size_t>(turned.applied.position)];
  const std::string does =
      turned.both
          ? fmt::format("'{}' lets go with '{}' {}, and reads braking with it in other situations",
                        loom.title(input.terminal), brake.name, applied)
          : fmt::format("'{}' reads braking with '{}' {} and lets go with it {}, the other way round than with '{}'",
                        loom.title(input.terminal), brake.name, brake.positions[0], applied, loom.part(right).name);
  Obligation& owed = ledger.open(rule, subject_of(loom, turned.applied.part));
  if (!is_meant(loom, turned.applied)) {
    owed.undecided(
        does + ": whether that is a brake that is turned is not known",
        fmt::format("a brake: {}; a stand or a latch: write the position that is ridden in first", exchange_of(brake)));
    return;
  }
  owed.broken(does, std::nullopt, solved.describe(*turned.pulling))
      .of_wiring()
      .note("the motor pulls as soon as this brake is applied")
      .fix(exchange_of(brake));
}

void judge_input(const Solved& solved, std::size_t i, std::size_t torque, const std::vector<Turned>& turned,
                 const std::optional<PartIndex>& stand, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const Input& input = loom.elements.inputs[i];
  if (!is_wired(loom, input.terminal)) {
    owed.broken(fmt::format("no brake switch is wired to '{}'", loom.title(input.terminal)))
        .of_wiring()
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
  bool awake = false;
  bool rests_awake = false;
  const auto wakes = find_named(loom.elements.outputs, input.part, "awake");
  for (const OperatingPoint& point : solved.points) {
    const bool on = point.logic.input_on[i] != 0;
    const bool pulls = point.logic.output_on[torque] != 0;
    asserted |= on;
    rests |= !on;
    torque_ever |= pulls;
    torque_with_brake |= on && pulls;
    const bool is_awake = !wakes || point.logic.output_on[*wakes] != 0;
    awake |= is_awake;
    rests_awake |= is_awake && !on;
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
  } else if (!rests || (awake && !rests_awake)) {
    owed.broken(rests ? fmt::format("'{}' reads braking in every situation in which '{}' is awake", owed.subject.name,
                                    loom.part(input.part).name)
                      : fmt::format("'{}' reads braking in every position of every switch", owed.subject.name))
        .note("the vehicle cannot be driven, and the brake changes nothing")
        .fix("see what holds the input: a line that the key feeds, or a lamp to ground on an active-low input")
        .as(Severity::nuisance);
  } else if (torque_with_brake) {
    owed.broken(fmt::format("'{}' reads braking and the motor is still given torque", owed.subject.name))
        .fix("the controller's torque must depend on this input");
  } else if (judge_sense(solved, i, turned, owed)) {
    return;
  } else if (stand) {
    owed.broken(fmt::format("no brake makes '{}' read braking, only '{}' does", loom.title(input.terminal),
                            loom.part(*stand).name))
        .of_wiring()
        .note("a stand is no brake: of braking the controller is not told, whatever else a brake opens")
        .fix("wire every brake switch to it; what a stand opens is the permit");
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
      const Senses senses(solved, i, o);
      std::vector<Turned> turned = senses.turned();
      const auto right = turned.empty() ? std::nullopt : senses.right();
      if (right) {
        for (const Turned& t : turned) judge_turned(rule, solved, all.inputs[i], *right, t, ledger);
        turned.clear();
      }
      judge_input(solved, i, o, turned, senses.stand_alone(),
                  ledger.open(rule, subject_of(*solved.loom, all.inputs[i], true)));
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
