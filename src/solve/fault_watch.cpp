// Watches, their targets, and what violates them.
#include "solve/fault_watch.h"

#include <algorithm>
#include <cmath>

#include "solve/circuit_graph.h"
#include "solve/light.h"

namespace loomproof {
namespace {

bool has_divider(const Loom& loom, PartIndex part) {
  return std::any_of(loom.elements.dividers.begin(), loom.elements.dividers.end(),
                     [&](const Divider& d) { return d.part == part; });
}

bool is_bus(const Load& load) {
  return load.channel == "battery";
}

// A contactor's coil: one that closes a contact of a part that also has its own coil only, on the traction side. What
// the loom calls the main contactor is whatever part of that kind carries the bus.
bool is_contactor_coil(const Loom& loom, const Coil& coil) {
  return loom.part(coil.part).kind == "contactor";
}

double volts_between(const Circuit& circuit, const OperatingPoint& point, TerminalIndex a, TerminalIndex b) {
  const auto v = voltage(circuit, point, a, b);
  return v ? v->value : 0;
}

using ByPosition = std::vector<std::vector<char>>;

ByPosition positions_of(const Loom& loom) {
  ByPosition out;
  for (const Part& p : loom.parts) out.emplace_back(p.positions.size(), 0);
  return out;
}

// A button that falls back by itself may leave behind what it switched on; a key may not.
bool springs_back(const Part& part) {
  return part.positions.front() == "released";
}

void derive(const Loom& loom, Watch::What what, std::size_t index, const ByPosition& from_rest, const ByPosition& ever,
            std::vector<Watch>& out) {
  for (std::size_t p = 0; p < loom.parts.size(); ++p) {
    if (ever[p].size() < 2 || has_divider(loom, PartIndex{p})) continue;
    if (std::none_of(ever[p].begin(), ever[p].end(), [](char c) { return c != 0; })) continue;
    for (std::size_t k = 0; k < ever[p].size(); ++k) {
      const bool allowed = k == 0 && springs_back(loom.parts[p]) ? ever[p][k] != 0 : from_rest[p][k] != 0;
      if (!allowed) out.push_back({what, index, {{PartIndex{p}, static_cast<int>(k)}}});
    }
  }
}

}  // namespace

Allowed nothing_allowed(const Loom& loom) {
  Allowed out;
  out.output.assign(loom.elements.outputs.size(), positions_of(loom));
  out.coil.assign(loom.elements.coils.size(), positions_of(loom));
  out.bus.assign(loom.elements.loads.size(), positions_of(loom));
  return out;
}

void note_allowed(Allowed& allowed, const Circuit& circuit, const Situation& s, const OperatingPoint& point) {
  const Elements& all = circuit.loom->elements;
  const auto note = [&](ByPosition& by) {
    for (std::size_t p = 0; p < by.size(); ++p) {
      if (!by[p].empty()) by[p][s.positions[p]] = 1;
    }
  };
  for (std::size_t i = 0; i < all.outputs.size(); ++i) {
    if (point.logic.output_on[i] != 0) note(allowed.output[i]);
  }
  for (std::size_t i = 0; i < all.coils.size(); ++i) {
    if (point.logic.coil_on[i] != 0) note(allowed.coil[i]);
  }
  for (std::size_t i = 0; i < all.loads.size(); ++i) {
    if (is_bus(all.loads[i]) && std::fabs(volts_between(circuit, point, all.loads[i].pos, all.loads[i].neg)) > dead_v)
      note(allowed.bus[i]);
  }
}

std::vector<Watch> derive_watches(const Loom& loom, const Allowed& from_rest, const Allowed& ever) {
  std::vector<Watch> out;
  const Elements& all = loom.elements;
  for (std::size_t i = 0; i < all.outputs.size(); ++i) {
    if (all.outputs[i].name == "torque") derive(loom, Watch::What::torque, i, from_rest.output[i], ever.output[i], out);
  }
  for (std::size_t i = 0; i < all.loads.size(); ++i) {
    if (is_bus(all.loads[i])) derive(loom, Watch::What::bus, i, from_rest.bus[i], ever.bus[i], out);
  }
  for (std::size_t i = 0; i < all.coils.size(); ++i) {
    if (is_contactor_coil(loom, all.coils[i]))
      derive(loom, Watch::What::contactor, i, from_rest.coil[i], ever.coil[i], out);
  }
  return out;
}

std::vector<Watch> fixed_watches(const Circuit& circuit) {
  const Loom& loom = *circuit.loom;
  std::vector<Watch> out;
  const std::vector<int> piece =
      components(graph_of(circuit), circuit, [&](const Branch& b) { return is_conductor(circuit, b); });
  for (std::size_t i = 0; i < loom.elements.inputs.size(); ++i) {
    const Input& input = loom.elements.inputs[i];
    if (!input.analogue) {
      if (input.max_v) out.push_back({Watch::What::level, i, {}});
      continue;
    }
    for (const Divider& d : loom.elements.dividers) {
      if (piece[circuit.node(d.tap)] == piece[circuit.node(input.terminal)])
        out.push_back({Watch::What::throttle, i, {{d.part, 0}}});
    }
  }
  for (std::size_t i = 0; i < loom.musts.size(); ++i) {
    if (loom.musts[i].never) out.push_back({Watch::What::must, i, loom.musts[i].when});
  }
  return out;
}

std::vector<Watch> lamp_watches(const Loom& loom, std::span<const BrakeView> views) {
  if (lamp_commands(loom).empty()) return {};
  std::set<std::size_t> lamps;
  for (const auto& [brake, own] : find_brakes(loom, views)) lamps.insert(own.begin(), own.end());
  std::vector<Watch> out;
  for (std::size_t l : lamps) out.push_back({Watch::What::lamp, l, {}});
  return out;
}

std::vector<Target> targets_of(const Watch& w, const Circuit& circuit) {
  const Elements& all = circuit.loom->elements;
  const auto node = [&](TerminalIndex t) {
    return Target{Target::What::node, static_cast<std::size_t>(circuit.node(t))};
  };
  switch (w.what) {
    case Watch::What::torque:
      return {{Target::What::output, w.index}};
    case Watch::What::throttle:
    case Watch::What::level:
      return {{Target::What::input, w.index}};
    case Watch::What::bus:
      return {node(all.loads[w.index].pos), node(all.loads[w.index].neg)};
    case Watch::What::contactor:
      return {{Target::What::coil, w.index}};
    case Watch::What::lamp: {
      std::vector<Target> out{node(all.loads[w.index].pos), node(all.loads[w.index].neg)};
      for (std::size_t o : lamp_commands(*circuit.loom)) out.push_back({Target::What::output, o});
      return out;
    }
    case Watch::What::must: {
      const Must& must = circuit.loom->musts[w.index];
      if (must.live) return {node(*must.live)};
      std::vector<Target> out;
      for (std::size_t o = 0; must.output && o < all.outputs.size(); ++o) {
        if (all.outputs[o].part == must.output->first && all.outputs[o].name == must.output->second)
          out.push_back({Target::What::output, o});
      }
      return out;
    }
  }
  return {};
}

bool matches(const Watch& w, const std::vector<std::int8_t>& told) {
  return std::all_of(w.when.begin(), w.when.end(), [&](const auto& at) { return told[at.first.value] == at.second; });
}

// A charger that hangs on a pack by its positive pole alone: its own negative then stands wherever its voltage puts it,
// below the pack's, and whatever is at rest there stands above it.
bool hangs_on_a_pack(const Circuit& circuit, const OperatingPoint& point, const Source& s) {
  if (s.sinks) return false;
  const int pos = circuit.node(s.pos), neg = circuit.node(s.neg);
  const auto& sources = circuit.loom->elements.sources;
  return std::any_of(sources.begin(), sources.end(), [&](const Source& pack) {
    const int pack_pos = circuit.node(pack.pos), pack_neg = circuit.node(pack.neg);
    if (!pack.sinks || point.piece[pack_pos] != point.piece[pos]) return false;
    return std::fabs(point.node_v[pos] - point.node_v[pack_pos]) <= dead_v &&
           std::fabs(point.node_v[neg] - point.node_v[pack_neg]) > dead_v;
  });
}

double live_v(const Circuit& circuit, const OperatingPoint& point, TerminalIndex t) {
  const int node = circuit.node(t);
  double most = 0;
  const auto against = [&](TerminalIndex neg) {
    const int n = circuit.node(neg);
    if (point.piece[n] == point.piece[node]) most = std::max(most, point.node_v[node] - point.node_v[n]);
  };
  for (const Converter& c : circuit.loom->elements.converters) against(c.out_neg);
  for (const Source& s : circuit.loom->elements.sources) {
    const double before = most;
    against(s.neg);
    if (most > std::max(before, dead_v) && hangs_on_a_pack(circuit, point, s)) most = before;
  }
  return most;
}

std::optional<double> violation(const Watch& w, const Circuit& circuit, const OperatingPoint& point) {
  const Elements& all = circuit.loom->elements;
  const auto when = [](bool bad, double value) { return bad ? std::optional(value) : std::nullopt; };
  switch (w.what) {
    case Watch::What::torque:
      return when(point.logic.output_on[w.index] != 0, 1);
    case Watch::What::throttle:
      return when(point.logic.input_on[w.index] != 0,
                  volts_between(circuit, point, all.inputs[w.index].terminal, all.inputs[w.index].reference));
    case Watch::What::bus: {
      const double v = std::fabs(volts_between(circuit, point, all.loads[w.index].pos, all.loads[w.index].neg));
      return when(v > touch_safe_v, v);
    }
    case Watch::What::contactor:
      return when(point.logic.coil_on[w.index] != 0, 1);
    case Watch::What::lamp: {
      const std::vector<std::size_t> commands = lamp_commands(*circuit.loom);
      const bool commanded = std::any_of(commands.begin(), commands.end(),
                                         [&](std::size_t o) { return point.logic.output_on[o] != 0; });
      const Load& lamp = all.loads[w.index];
      const double v = std::fabs(volts_between(circuit, point, lamp.pos, lamp.neg));
      return when(commanded && v < shines_from * rated_volts(lamp), v);
    }
    case Watch::What::level: {
      const Input& input = all.inputs[w.index];
      const double v = std::fabs(volts_between(circuit, point, input.terminal, input.reference));
      return when(v > *input.max_v * (1 + 1e-9), v);
    }
    case Watch::What::must: {
      const Must& must = circuit.loom->musts[w.index];
      if (must.live) {
        const double v = live_v(circuit, point, *must.live);
        return when(v > dead_v, v);
      }
      for (std::size_t o = 0; must.output && o < all.outputs.size(); ++o) {
        if (all.outputs[o].part == must.output->first && all.outputs[o].name == must.output->second)
          return when(point.logic.output_on[o] != 0, 1);
      }
      return std::nullopt;
    }
  }
  return std::nullopt;
}

}  // namespace loomproof
