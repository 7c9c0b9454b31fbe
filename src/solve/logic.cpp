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

double volts_or_zero(const OperatingPoint& point, int a, int b) {
  return point.piece[a] == point.piece[b] ? point.node_v[a] - point.node_v[b] : 0;
}

double volts_or_zero(const Circuit& circuit, const OperatingPoint& point, TerminalIndex a, TerminalIndex b) {
  return volts_or_zero(point, circuit.node(a), circuit.node(b));
}

double on_above_v(const Input& input) {
  return input.on_above_v ? *input.on_above_v : unknown_on_above_v;
}

double off_below_v(const Input& input) {
  return input.off_below_v ? std::min(*input.off_below_v, on_above_v(input)) : on_above_v(input);
}

// Above it a controller answers.
double throttle_starts_v(const Input& input) {
  const double zero = input.zero_v ? *input.zero_v : 1;
  const double full = input.full_v ? *input.full_v : zero + 3;
  return zero + throttle_dead_band * (full - zero);
}

bool in_window(const Input& input, double v) {
  if (input.valid_low_v && v < *input.valid_low_v) return false;
  if (input.valid_high_v && v > *input.valid_high_v) return false;
  return v > throttle_starts_v(input);
}

double pull_in_v(const Coil& coil) {
  return coil.pull_in_v ? *coil.pull_in_v : unknown_pull_in_v;
}

double drop_out_v(const Coil& coil) {
  return coil.drop_out_v ? *coil.drop_out_v : unknown_drop_out_v;
}

bool asserted(const Input& input, double v, bool before) {
  if (input.analogue) return in_window(input, v);
  if (v >= on_above_v(input)) return input.active_high;
  if (v <= off_below_v(input)) return !input.active_high;
  return before;
}

template <class Test>
bool has(const Condition& c, const Test& test) {
  return test(c.op) || std::any_of(c.of.begin(), c.of.end(), [&](const Condition& inner) { return has(inner, test); });
}

bool looks_at_voltage(Condition::Op op) {
  return op == Condition::Op::powered;
}

bool follows(Condition::Op op) {
  return op == Condition::Op::input || op == Condition::Op::output || op == Condition::Op::coil;
}

}  // namespace

double least_coil_v(const Coil& coil) {
  return std::min(pull_in_v(coil), drop_out_v(coil));
}

double powered_above_v(const Condition& c) {
  return c.above_v ? *c.above_v : unknown_powered_v;
}

double silent_up_to_v(const Input& input) {
  return input.analogue ? throttle_starts_v(input) : off_below_v(input);
}

std::pair<bool, bool> may_read(const Input& input, double most_v) {
  if (input.analogue) return {most_v > throttle_starts_v(input), true};
  const bool high = most_v > off_below_v(input) || most_v >= on_above_v(input);
  return input.active_high ? std::pair(high, true) : std::pair(true, high);
}

Logic::Logic(const Circuit& circuit) : circuit_(circuit) {
  const Elements& all = circuit.loom->elements;
  compile(all.outputs, &Output::when, outputs_);
  compile(all.contacts, &Contact::closed_when, contacts_);
  compile(all.sources, &Source::when, sources_);
  compile(all.converters, &Converter::when, converters_);
}

template <class List, class Member>
void Logic::compile(const List& list, Member condition, Compiled& out) {
  for (std::size_t i = 0; i < list.size(); ++i) {
    out.first.push_back(steps_.size());
    compile(list[i].*condition, list[i].part);
    if (has(list[i].*condition, looks_at_voltage)) {
      out.seeing.push_back(i);
    } else if (has(list[i].*condition, follows)) {
      out.following.push_back(i);
    }
  }
}

void Logic::compile(const Condition& c, PartIndex part) {
  const std::size_t at = steps_.size();
  Step step{.op = c.op, .index = c.index, .positions = &c.positions};
  if (c.op == Condition::Op::position) step.index = part.value;
  // A loom without its circuit is only ever asked about rest, where nothing is powered.
  if (c.op == Condition::Op::powered && !circuit_.node_of.empty()) {
    step.pos = circuit_.node(c.pos);
    step.neg = circuit_.node(c.neg);
    step.above_v = powered_above_v(c);
  }
  steps_.push_back(step);
  for (const Condition& inner : c.of) compile(inner, part);
  steps_[at].end = steps_.size();
}

// With `dead`, nothing is powered, whatever the point's voltages are.
bool Logic::holds(std::size_t at, const OperatingPoint& point, bool dead, const LogicState& state) const {
  using Op = Condition::Op;
  const Step& step = steps_[at];
  switch (step.op) {
    case Op::always:
      return true;
    case Op::all:
      for (std::size_t i = at + 1; i < step.end; i = steps_[i].end) {
        if (!holds(i, point, dead, state)) return false;
      }
      return true;
    case Op::any:
      for (std::size_t i = at + 1; i < step.end; i = steps_[i].end) {
        if (holds(i, point, dead, state)) return true;
      }
      return false;
    case Op::invert:
      return !holds(at + 1, point, dead, state);
    case Op::input:
      return state.input_on[step.index] != 0;
    case Op::output:
      return state.output_on[step.index] != 0;
    case Op::coil:
      return state.coil_on[step.index] != 0;
    case Op::position: {
      const int now = point.situation.positions[step.index];
      return std::find(step.positions->begin(), step.positions->end(), now) != step.positions->end();
    }
    case Op::powered:
      return !dead && volts_or_zero(point, step.pos, step.neg) >= step.above_v;
  }
  return false;
}

void Logic::evaluate(const Compiled& what, Which which, const OperatingPoint& point, bool dead, const LogicState& state,
                     std::vector<std::uint8_t>& into) const {
  const auto one = [&](std::size_t i) { into[i] = holds(what.first[i], point, dead, state); };
  if (which == Which::all) {
    for (std::size_t i = 0; i < into.size(); ++i) one(i);
    return;
  }
  for (std::size_t i : what.seeing) one(i);
  if (which == Which::seeing) return;
  for (std::size_t i : what.following) one(i);
}

void Logic::conditions(const OperatingPoint& point, bool dead, LogicState& out, Which which) const {
  evaluate(outputs_, which == Which::all ? which : Which::live, point, dead, out, out.output_on);
  if (which == Which::seeing && out.output_on != point.logic.output_on) which = Which::live;
  evaluate(contacts_, which, point, dead, out, out.contact_closed);
  evaluate(sources_, which, point, dead, out, out.source_on);
  const auto& converters = circuit_.loom->elements.converters;
  for (std::size_t i = 0; i < converters.size(); ++i) {
    const Converter& c = converters[i];
    const double in_v = dead ? 0 : volts_or_zero(circuit_, point, c.in_pos, c.in_neg);
    const bool in_window =
        in_v > least_converter_v && (!c.low_v || in_v >= *c.low_v) && (!c.high_v || in_v <= *c.high_v);
    out.converter_on[i] = in_window && holds(converters_.first[i], point, dead, out);
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
  conditions(of_situation, true, out, Which::all);
}

void Logic::next(const OperatingPoint& point, LogicState& out, bool moved) const {
  const Elements& all = circuit_.loom->elements;
  out = point.logic;
  for (std::size_t i = 0; i < all.coils.size(); ++i) {
    const Coil& coil = all.coils[i];
    const double v = std::fabs(volts_or_zero(circuit_, point, coil.a, coil.b));
    out.coil_on[i] = v >= pull_in_v(coil) || (out.coil_on[i] != 0 && v >= drop_out_v(coil));
  }
  for (std::size_t i : fault_.dead_coils) out.coil_on[i] = 0;
  for (std::size_t i = 0; i < all.inputs.size(); ++i) {
    const Input& input = all.inputs[i];
    out.input_on[i] =
        asserted(input, volts_or_zero(circuit_, point, input.terminal, input.reference), out.input_on[i] != 0);
  }
  // What follows coils and inputs that stand as they stood follows them already.
  const bool same = out.coil_on == point.logic.coil_on && out.input_on == point.logic.input_on;
  conditions(point, false, out, moved ? Which::all : same ? Which::seeing : Which::live);
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
  Logic(circuit).rest(point, out);
  return out;
}

LogicState next_logic(const Circuit& circuit, const OperatingPoint& point) {
  LogicState out;
  Logic(circuit).next(point, out, true);
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
