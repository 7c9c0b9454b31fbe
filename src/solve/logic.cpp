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
  const int na = circuit.node(a);
  const int nb = circuit.node(b);
  return point.piece[na] == point.piece[nb] ? point.node_v[na] - point.node_v[nb] : 0;
}

double on_above_v(const Input& input) {
  return input.on_above_v ? *input.on_above_v : unknown_on_above_v;
}

double off_below_v(const Input& input) {
  return input.off_below_v ? std::min(*input.off_below_v, on_above_v(input)) : on_above_v(input);
}

bool in_window(const Input& input, double v) {
  const double zero = input.zero_v ? *input.zero_v : 1;
  const double full = input.full_v ? *input.full_v : zero + 3;
  if (input.valid_low_v && v < *input.valid_low_v) return false;
  if (input.valid_high_v && v > *input.valid_high_v) return false;
  return v > zero + throttle_dead_band * (full - zero);
}

bool asserted(const Input& input, double v, bool before) {
  if (input.analogue) return in_window(input, v);
  if (v >= on_above_v(input)) return input.active_high;
  if (v <= off_below_v(input)) return !input.active_high;
  return before;
}

bool by_switches_alone(const Condition& c) {
  using Op = Condition::Op;
  if (c.op == Op::always || c.op == Op::position) return true;
  if (c.op != Op::all && c.op != Op::any && c.op != Op::invert) return false;
  return std::all_of(c.of.begin(), c.of.end(), by_switches_alone);
}

struct View {
  const Circuit& circuit;
  const OperatingPoint& point;
  bool dead;  // whatever the point's voltages are, nothing is powered
  const LogicState& state;

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
        return state.input_on[c.index] != 0;
      case Op::output:
        return state.output_on[c.index] != 0;
      case Op::coil:
        return state.coil_on[c.index] != 0;
      case Op::position: {
        const int now = point.situation.positions[part.value];
        return std::find(c.positions.begin(), c.positions.end(), now) != c.positions.end();
      }
      case Op::powered:
        return !dead && volts_or_zero(circuit, point, c.pos, c.neg) >= (c.above_v ? *c.above_v : unknown_powered_v);
    }
    return false;
  }
};

template <class List, class Member>
std::vector<std::size_t> hanging_on_voltage(const List& list, Member condition) {
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < list.size(); ++i) {
    if (!by_switches_alone(list[i].*condition)) out.push_back(i);
  }
  return out;
}

}  // namespace

Logic::Logic(const Circuit& circuit) : circuit_(circuit) {
  const Elements& all = circuit.loom->elements;
  live_contacts_ = hanging_on_voltage(all.contacts, &Contact::closed_when);
  live_outputs_ = hanging_on_voltage(all.outputs, &Output::when);
  live_sources_ = hanging_on_voltage(all.sources, &Source::when);
}

void Logic::conditions(const OperatingPoint& point, bool dead, LogicState& out, bool all) const {
  const Elements& elements = circuit_.loom->elements;
  const View view{circuit_, point, dead, out};
  const auto evaluate = [&](const auto& list, auto condition, const std::vector<std::size_t>& live, auto& into) {
    const auto one = [&](std::size_t i) { into[i] = view.holds(list[i].*condition, list[i].part); };
    if (all) {
      for (std::size_t i = 0; i < list.size(); ++i) one(i);
    } else {
      for (std::size_t i : live) one(i);
    }
  };
  evaluate(elements.outputs, &Output::when, live_outputs_, out.output_on);
  evaluate(elements.contacts, &Contact::closed_when, live_contacts_, out.contact_closed);
  evaluate(elements.sources, &Source::when, live_sources_, out.source_on);
  for (std::size_t i = 0; i < elements.converters.size(); ++i) {
    const Converter& c = elements.converters[i];
    const double in_v = dead ? 0 : volts_or_zero(circuit_, point, c.in_pos, c.in_neg);
    const bool in_window = in_v > 0.5 && (!c.low_v || in_v >= *c.low_v) && (!c.high_v || in_v <= *c.high_v);
    out.converter_on[i] = in_window && view.holds(c.when, c.part);
  }
  force(out);
}

void Logic::force(LogicState& out) const {
  for (std::size_t i : fault_.contacts_open) out.contact_closed[i] = 0;
  for (std::size_t i : fault_.contacts_closed) out.contact_closed[i] = 1;
  for (std::size_t i : fault_.dead_sources) out.source_on[i] = 0;
  for (std::size_t i : fault_.dead_converters) out.converter_on[i] = 0;
}

void Logic::rest(const OperatingPoint& of_situation, LogicState& out) const {
  const Elements& all = circuit_.loom->elements;
  out.contact_closed.assign(all.contacts.size(), 0);
  out.coil_on.assign(all.coils.size(), 0);
  out.input_on.assign(all.inputs.size(), 0);
  out.output_on.assign(all.outputs.size(), 0);
  out.source_on.assign(all.sources.size(), 0);
  out.converter_on.assign(all.converters.size(), 0);
  conditions(of_situation, true, out, true);
}

void Logic::next(const OperatingPoint& point, LogicState& out, bool moved) const {
  const Elements& all = circuit_.loom->elements;
  out = point.logic;
  for (std::size_t i = 0; i < all.coils.size(); ++i) {
    const Coil& coil = all.coils[i];
    const double v = std::fabs(volts_or_zero(circuit_, point, coil.a, coil.b));
    const double in = coil.pull_in_v ? *coil.pull_in_v : unknown_pull_in_v;
    const double hold = coil.drop_out_v ? *coil.drop_out_v : unknown_drop_out_v;
    out.coil_on[i] = v >= in || (out.coil_on[i] != 0 && v >= hold);
  }
  for (std::size_t i : fault_.dead_coils) out.coil_on[i] = 0;
  for (std::size_t i = 0; i < all.inputs.size(); ++i) {
    const Input& input = all.inputs[i];
    out.input_on[i] =
        asserted(input, volts_or_zero(circuit_, point, input.terminal, input.reference), out.input_on[i] != 0);
  }
  conditions(point, false, out, moved);
}

std::vector<std::size_t> Logic::undefined_inputs(const OperatingPoint& point) const {
  const auto& inputs = circuit_.loom->elements.inputs;
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    const double v = volts_or_zero(circuit_, point, inputs[i].terminal, inputs[i].reference);
    if (!inputs[i].analogue && v > off_below_v(inputs[i]) && v < on_above_v(inputs[i])) out.push_back(i);
  }
  return out;
}

LogicState resting_logic(const Loom& loom, const Situation& situation) {
  Circuit circuit;
  circuit.loom = &loom;
  OperatingPoint point;
  point.situation = situation;
  LogicState out;
  Logic(circuit, Logic::Plain{}).rest(point, out);
  return out;
}

LogicState next_logic(const Circuit& circuit, const OperatingPoint& point) {
  LogicState out;
  Logic(circuit, Logic::Plain{}).next(point, out, true);
  return out;
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
