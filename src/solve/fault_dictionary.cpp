// One settling a fault and situation, and what it changes.
#include "solve/fault_dictionary.h"

#include <algorithm>
#include <cmath>

#include "solve/fault_network.h"
#include "solve/light.h"

namespace loomproof {
namespace {

std::size_t moved(const Situation& s) {
  return static_cast<std::size_t>(
      std::count_if(s.positions.begin(), s.positions.end(), [](std::int8_t k) { return k != 0; }));
}

std::vector<Situation> situations_of(const Solved& solved) {
  const Loom& loom = *solved.loom;
  Situation rest;
  rest.positions.assign(loom.parts.size(), 0);
  std::vector<Situation> bases{rest};
  const OperatingPoint* ready = nullptr;
  for (const OperatingPoint& p : solved.points) {
    if (p.situation.duty || p.situation.charge != Charge::full) continue;
    const bool torque = [&] {
      for (std::size_t i = 0; i < loom.elements.outputs.size(); ++i) {
        if (loom.elements.outputs[i].name == "torque" && p.logic.output_on[i] != 0) return true;
      }
      return false;
    }();
    if (torque && (ready == nullptr || moved(p.situation) < moved(ready->situation))) ready = &p;
  }
  if (ready != nullptr) bases.push_back(ready->situation);
  std::vector<Situation> out;
  const auto add = [&](const Situation& s) {
    if (std::none_of(out.begin(), out.end(), [&](const Situation& o) { return o.positions == s.positions; }))
      out.push_back(s);
  };
  for (const Situation& base : bases) {
    add(base);
    for (std::size_t p = 0; p < loom.parts.size(); ++p) {
      for (std::size_t k = 0; k < loom.parts[p].positions.size(); ++k) {
        Situation one = base;
        one.positions[p] = static_cast<std::int8_t>(k);
        add(one);
      }
    }
  }
  return out;
}

// The meter's black lead is on the frame itself, not on a stud that may have come off it.
int reference_node(const Circuit& circuit, TerminalIndex reference) {
  const Loom& loom = *circuit.loom;
  const bool on_frame = loom.kind_of(loom.part(loom.terminals[reference.value].part)).is_frame;
  return on_frame ? circuit.frame_node : circuit.node(reference);
}

// One terminal a node on which a wire lands, against the frame where that is in its island, else the island's supply.
// A stud that may come off the frame is a node of its own.
std::vector<FaultDictionary::TestPoint> points_of(const Circuit& circuit, const Circuit& with_studs) {
  const Loom& loom = *circuit.loom;
  std::vector<char> taken(static_cast<std::size_t>(with_studs.nodes), 0);
  std::vector<std::optional<TerminalIndex>> reference(circuit.island_nodes.size());
  for (std::size_t t = 0; t < loom.terminals.size(); ++t) {
    if (!loom.kind_of(loom.part(loom.terminals[t].part)).is_frame) continue;
    auto& at = reference[circuit.island_of[circuit.node(TerminalIndex{t})]];
    if (!at) at = TerminalIndex{t};
  }
  for (const Source& s : loom.elements.sources) {
    auto& at = reference[circuit.island_of[circuit.node(s.neg)]];
    if (!at) at = s.neg;
  }
  std::vector<FaultDictionary::TestPoint> out;
  for (const Wire& w : loom.wires) {
    for (TerminalIndex t : {w.from, w.to}) {
      const int node = with_studs.node(t);
      const auto& against = reference[circuit.island_of[circuit.node(t)]];
      if (taken[node] != 0 || !against || reference_node(with_studs, *against) == node) continue;
      taken[node] = 1;
      out.push_back({t, *against});
    }
  }
  return out;
}

std::vector<std::string> things_of(const Loom& loom) {
  std::vector<std::string> out;
  const auto name = [&](const Element& e) {
    return e.name == "body" || e.name == "light" || e.name == "filament" ? loom.part(e.part).name
                                                                         : loom.part(e.part).name + "." + e.name;
  };
  for (const Load& l : loom.elements.loads) out.push_back(name(l));
  for (const Coil& c : loom.elements.coils) out.push_back(loom.part(c.part).name + "." + c.name);
  for (const Input& i : loom.elements.inputs) out.push_back(loom.part(i.part).name + "." + i.name);
  for (const Output& o : loom.elements.outputs) out.push_back(loom.part(o.part).name + "." + o.name);
  return out;
}

std::vector<std::uint8_t> state_of(const Circuit& circuit, const OperatingPoint& p) {
  const Elements& all = circuit.loom->elements;
  std::vector<std::uint8_t> out;
  for (const Load& l : all.loads) {
    const auto v = voltage(circuit, p, l.pos, l.neg);
    const double rated = l.rated_v && *l.rated_v > 0 ? *l.rated_v : l.low_v ? *l.low_v : assumed_rated_v;
    out.push_back(v && std::fabs(v->value) >= shines_from * rated ? 1 : 0);
  }
  out.insert(out.end(), p.logic.coil_on.begin(), p.logic.coil_on.end());
  out.insert(out.end(), p.logic.input_on.begin(), p.logic.input_on.end());
  out.insert(out.end(), p.logic.output_on.begin(), p.logic.output_on.end());
  return out;
}

std::optional<double> reading(const Circuit& circuit, const OperatingPoint& p, const FaultDictionary::TestPoint& at) {
  const int red = circuit.node(at.terminal), black = reference_node(circuit, at.reference);
  if (p.piece[red] != p.piece[black]) return std::nullopt;
  return p.node_v[red] - p.node_v[black];
}

bool tells(std::optional<double> a, std::optional<double> b) {
  if (a.has_value() != b.has_value()) return true;
  return a && std::fabs(*a - *b) >= telling_v;
}

}  // namespace

FaultDictionary fault_dictionary(const Solved& solved) {
  const Circuit& circuit = solved.circuit;
  const std::vector<Fault> faults = single_faults(circuit);
  FaultNetwork network(circuit, faults);
  FaultDictionary out;
  out.points = points_of(circuit, network.circuit());
  out.things = things_of(*solved.loom);
  std::vector<std::vector<std::uint8_t>> sound;
  for (const Situation& s : situations_of(solved)) {
    const OperatingPoint& p = network.settle_from_rest(s);
    if (!p.trouble.empty()) continue;
    out.situations.push_back(s);
    auto& readings = out.sound.emplace_back();
    for (std::size_t i = 0; i < out.points.size(); ++i)
      readings.push_back({i, reading(network.circuit(), p, out.points[i])});
    sound.push_back(state_of(network.circuit(), p));
    auto& on = out.sound_on.emplace_back();
    for (std::size_t i = 0; i < out.things.size(); ++i) {
      if (sound.back()[i] != 0) on.push_back(i);
    }
  }
  for (const Fault& f : faults) {
    FaultDictionary::Entry entry;
    entry.fault = f;
    network.apply(&f);
    for (std::size_t s = 0; s < out.situations.size(); ++s) {
      const OperatingPoint& p = network.settle_from_rest(out.situations[s]);
      FaultDictionary::Shown shown;
      shown.situation = s;
      shown.trouble = p.trouble;
      std::vector<std::uint8_t> state = state_of(network.circuit(), p);
      if (f.type == FaultType::lamp_out) state[f.index] = 0;  // it has its voltage and stays dark
      for (std::size_t i = 0; i < state.size(); ++i) {
        if (state[i] != sound[s][i]) (state[i] != 0 ? shown.gained : shown.lost).push_back(i);
      }
      for (std::size_t i = 0; i < out.points.size(); ++i) {
        const auto v = reading(network.circuit(), p, out.points[i]);
        if (tells(v, out.sound[s][i].volts)) shown.readings.push_back({i, v});
      }
      if (!shown.lost.empty() || !shown.gained.empty() || !shown.readings.empty() || !shown.trouble.empty())
        entry.shown.push_back(std::move(shown));
    }
    out.entries.push_back(std::move(entry));
  }
  return out;
}

}  // namespace loomproof
