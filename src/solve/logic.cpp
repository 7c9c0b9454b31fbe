// Coils, inputs, conditions and contacts: what the voltages decide.
#include "solve/logic.h"

#include <algorithm>
#include <cmath>

namespace loomproof {
namespace {

// Stand-ins for data that the file lacks; the verdicts that need them are undecided all the same.
constexpr double unknown_pull_in_v = 9;
constexpr double unknown_drop_out_v = 1.2;
constexpr double unknown_on_above_v = 6;
constexpr double unknown_powered_v = 1;
// Share of the throttle's span above its zero from which a controller answers.
constexpr double throttle_dead_band = 0.05;

double volts_or_zero(const Circuit& circuit, const OperatingPoint& point, TerminalIndex a, TerminalIndex b) {
  const auto v = voltage(circuit, point, a, b);
  return v ? v->value : 0;
}

bool asserted(const Input& input, double v, bool before) {
  if (input.analogue) {
    const double zero = input.zero_v ? *input.zero_v : 1;
    const double full = input.full_v ? *input.full_v : zero + 3;
    if (input.valid_low_v && v < *input.valid_low_v) return false;
    if (input.valid_high_v && v > *input.valid_high_v) return false;
    return v > zero + throttle_dead_band * (full - zero);
  }
  const double on = input.on_above_v ? *input.on_above_v : unknown_on_above_v;
  const double off = input.off_below_v ? *input.off_below_v : on;
  if (v >= on) return input.active_high;
  if (v <= off || off >= on) return !input.active_high;
  return before;
}

class Evaluation {
 public:
  Evaluation(const Circuit& circuit, const OperatingPoint& point, LogicState& state)
      : circuit_(circuit), point_(point), state_(state) {}

  bool holds(const Condition& c, PartIndex part) const {
    using Op = Condition::Op;
    const auto inner = [&](const Condition& child) { return holds(child, part); };
    switch (c.op) {
      case Op::always:
        return true;
      case Op::all:
        return std::all_of(c.of.begin(), c.of.end(), inner);
      case Op::any:
        return std::any_of(c.of.begin(), c.of.end(), inner);
      case Op::invert:
        return !holds(c.of.front(), part);
      case Op::input:
        return state_.input_on[c.index] != 0;
      case Op::output:
        return state_.output_on[c.index] != 0;
      case Op::coil:
        return state_.coil_on[c.index] != 0;
      case Op::position:
        return std::find(c.positions.begin(), c.positions.end(), point_.situation.positions[part.value]) !=
               c.positions.end();
      case Op::powered:
        return !point_.node_v.empty() &&
               volts_or_zero(circuit_, point_, c.pos, c.neg) >= (c.above_v ? *c.above_v : unknown_powered_v);
    }
    return false;
  }

  void conditions() {
    const Elements& all = circuit_.loom->elements;
    for (std::size_t i = 0; i < all.outputs.size(); ++i)
      state_.output_on[i] = holds(all.outputs[i].when, all.outputs[i].part);
    for (std::size_t i = 0; i < all.contacts.size(); ++i) {
      state_.contact_closed[i] = holds(all.contacts[i].closed_when, all.contacts[i].part);
    }
    for (std::size_t i = 0; i < all.sources.size(); ++i)
      state_.source_on[i] = holds(all.sources[i].when, all.sources[i].part);
    for (std::size_t i = 0; i < all.converters.size(); ++i) {
      const Converter& c = all.converters[i];
      const double in_v = point_.node_v.empty() ? 0 : volts_or_zero(circuit_, point_, c.in_pos, c.in_neg);
      const bool in_window = in_v > 0.5 && (!c.low_v || in_v >= *c.low_v) && (!c.high_v || in_v <= *c.high_v);
      state_.converter_on[i] = in_window && holds(c.when, c.part);
    }
  }

 private:
  const Circuit& circuit_;
  const OperatingPoint& point_;
  LogicState& state_;
};

}  // namespace

LogicState resting_logic(const Loom& loom, const Situation& situation) {
  const Elements& all = loom.elements;
  LogicState state;
  state.contact_closed.assign(all.contacts.size(), 0);
  state.coil_on.assign(all.coils.size(), 0);
  state.input_on.assign(all.inputs.size(), 0);
  state.output_on.assign(all.outputs.size(), 0);
  state.source_on.assign(all.sources.size(), 0);
  state.converter_on.assign(all.converters.size(), 0);
  OperatingPoint nothing;
  nothing.situation = situation;
  Circuit circuit;
  circuit.loom = &loom;
  Evaluation(circuit, nothing, state).conditions();
  return state;
}

LogicState next_logic(const Circuit& circuit, const OperatingPoint& point) {
  const Elements& all = circuit.loom->elements;
  LogicState state = point.logic;
  for (std::size_t i = 0; i < all.coils.size(); ++i) {
    const Coil& coil = all.coils[i];
    const double v = std::fabs(volts_or_zero(circuit, point, coil.a, coil.b));
    const double in = coil.pull_in_v ? *coil.pull_in_v : unknown_pull_in_v;
    const double out = coil.drop_out_v ? *coil.drop_out_v : unknown_drop_out_v;
    state.coil_on[i] = v >= in || (state.coil_on[i] != 0 && v >= out);
  }
  for (std::size_t i = 0; i < all.inputs.size(); ++i) {
    const Input& input = all.inputs[i];
    state.input_on[i] =
        asserted(input, volts_or_zero(circuit, point, input.terminal, input.reference), state.input_on[i] != 0);
  }
  Evaluation(circuit, point, state).conditions();
  return state;
}

std::string changes_between(const Loom& loom, const LogicState& a, const LogicState& b) {
  std::string out;
  const auto name = [&](const auto& list, const std::vector<std::uint8_t>& x, const std::vector<std::uint8_t>& y) {
    for (std::size_t i = 0; i < list.size(); ++i) {
      if (x[i] == y[i]) continue;
      if (!out.empty()) out += ", ";
      out += loom.part(list[i].part).name + "." + list[i].name;
    }
  };
  name(loom.elements.coils, a.coil_on, b.coil_on);
  name(loom.elements.inputs, a.input_on, b.input_on);
  name(loom.elements.contacts, a.contact_closed, b.contact_closed);
  name(loom.elements.sources, a.source_on, b.source_on);
  name(loom.elements.converters, a.converter_on, b.converter_on);
  return out;
}

}  // namespace loomproof
