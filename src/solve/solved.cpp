// The whole computation, in the order in which its parts need one another.
#include "solve/solved.h"

#include <algorithm>
#include <cmath>

#include "solve/beside.h"
#include "solve/conductor_pieces.h"
#include "solve/describe.h"
#include "solve/fault_walk.h"
#include "solve/opened.h"
#include "solve/situations.h"
#include "solve/supply.h"

namespace loomproof {
namespace {

// What differs by rounding only is equal: the first point that shows a value is the one that is named.
constexpr double rounding = 1e-9;

void larger(Extreme& e, double value, std::size_t point) {
  if (!e.point || value > e.value + rounding * std::fabs(e.value)) e = {value, point};
}

void smaller(Extreme& e, double value, std::size_t point) {
  if (!e.point || value < e.value - rounding * std::fabs(e.value)) e = {value, point};
}

// Lowest voltage counts only where the load is switched on: a lamp that is off is not starved.
bool meant_to_work(const Load& load, double v) {
  const double rated = load.rated_v ? *load.rated_v : load.low_v ? *load.low_v : 2;
  return v > 0.5 * rated;
}

void note_branches(const Circuit& circuit, const OperatingPoint& point, std::size_t p, const std::vector<char>& idle,
                   Extremes& x) {
  for (const Branch& b : circuit.branches) {
    const double v = point.node_v[b.a] - point.node_v[b.b];
    switch (b.type) {
      case BranchType::wire:
        larger(x.wire_a[b.index], std::fabs(v / b.ohm), p);
        break;
      case BranchType::fuse:
        larger(x.fuse_a[b.index], std::fabs(v / b.ohm), p);
        break;
      case BranchType::contact:
        if (point.logic.contact_closed[b.index] != 0) {
          larger(x.contact_a[b.index], std::fabs(v / b.ohm), p);
        } else if (point.piece[b.a] == point.piece[b.b]) {
          larger(x.contact_v[b.index], std::fabs(v), p);
        }
        break;
      case BranchType::coil:
        if (point.logic.coil_on[b.index] != 0) smaller(x.coil_low_v[b.index], std::fabs(v), p);
        larger(x.coil_high_v[b.index], std::fabs(v), p);
        break;
      case BranchType::converter_in:
        if (point.logic.converter_on[b.index] != 0) smaller(x.converter_low_v[b.index], v, p);
        larger(x.converter_high_v[b.index], v, p);
        break;
      case BranchType::load: {
        const Load& load = circuit.loom->elements.loads[b.index];
        if (idle[b.index] == 0 && meant_to_work(load, v)) smaller(x.load_low_v[b.index], v, p);
        larger(x.load_high_v[b.index], v, p);
        break;
      }
      default:
        break;
    }
  }
}

// A drive that only a resistor feeds (precharge) has voltage and does not run: its drop is no loss and its low voltage
// no fault.
std::vector<char> idle_drives(ConductorPieces& conductors, const Circuit& circuit, const OperatingPoint& point) {
  const auto& loads = circuit.loom->elements.loads;
  std::vector<char> idle(loads.size(), 0);
  for (std::size_t i = 0; i < loads.size(); ++i) {
    if (loads[i].channel.empty()) continue;
    idle[i] = is_fed(conductors, circuit, point.logic, loads[i].pos, loads[i].neg) ? 0 : 1;
  }
  return idle;
}

// Lost on the way: against the supply of the same piece that comes closest above the load's own voltage.
void note_drops(const Circuit& circuit, const std::vector<SupplyPoles>& supplies, const OperatingPoint& point,
                std::size_t p, const std::vector<char>& idle, Extremes& x) {
  for (const Branch& b : circuit.branches) {
    if (b.type != BranchType::load || idle[b.index] != 0) continue;
    const double v = point.node_v[b.a] - point.node_v[b.b];
    if (!meant_to_work(circuit.loom->elements.loads[b.index], v) || point.load_a[b.index] <= 0) continue;
    double supply_v = 0;
    for (const SupplyPoles& s : supplies) {
      if (point.piece[s.pos] != point.piece[b.a]) continue;
      const double here = point.node_v[s.pos] - point.node_v[s.neg];
      if (here >= v && (supply_v == 0 || here < supply_v)) supply_v = here;
    }
    if (supply_v > 0) larger(x.load_drop[b.index], (supply_v - v) / supply_v, p);
  }
}

void note_point(const Circuit& circuit, const OperatingPoint& point, std::size_t p, const std::vector<char>& idle,
                Extremes& x) {
  note_branches(circuit, point, p, idle, x);
  for (std::size_t i = 0; i < point.source_a.size(); ++i) {
    larger(x.source_out_a[i], std::max(0.0, point.source_a[i]), p);
    larger(x.source_in_a[i], std::max(0.0, -point.source_a[i]), p);
  }
  for (std::size_t i = 0; i < point.converter_out_a.size(); ++i)
    larger(x.converter_out_a[i], point.converter_out_a[i], p);
  const Elements& all = circuit.loom->elements;
  for (std::size_t i = 0; i < all.inputs.size(); ++i) {
    const auto v = voltage(circuit, point, all.inputs[i].terminal, all.inputs[i].reference);
    if (v) larger(x.input_high_v[i], std::fabs(v->value), p);
  }
}

// Highest voltage of a node against any other of its piece, of its own circuit only: what a tie inside a part joins to
// it stands there too, but comes across a device by a fault alone.
void note_spread(const Circuit& circuit, const std::vector<int>& own_circuit, const OperatingPoint& point,
                 std::size_t p, std::vector<double>& low, std::vector<double>& high, std::vector<int>& seen_with,
                 std::vector<Extreme>& by_node) {
  // A circuit may lie in several pieces, and a piece in a few circuits: each pair is known by its first node.
  std::vector<int> head(circuit.nodes, -1), next(circuit.nodes, -1);
  for (int n = 0; n < circuit.nodes; ++n) {
    int of = head[point.piece[n]];
    while (of >= 0 && own_circuit[of] != own_circuit[n]) of = next[of];
    const bool fresh = of < 0;
    if (fresh) {
      of = n;
      next[n] = head[point.piece[n]];
      head[point.piece[n]] = n;
    }
    seen_with[n] = of;
    low[of] = fresh ? point.node_v[n] : std::min(low[of], point.node_v[n]);
    high[of] = fresh ? point.node_v[n] : std::max(high[of], point.node_v[n]);
  }
  for (int n = 0; n < circuit.nodes; ++n) {
    const int of = seen_with[n];
    larger(by_node[n], std::max(high[of] - point.node_v[n], point.node_v[n] - low[of]), p);
  }
}

Extremes extremes_of(const Circuit& circuit, const std::vector<int>& own_circuit,
                     const std::vector<OperatingPoint>& points) {
  const Elements& all = circuit.loom->elements;
  Extremes x;
  x.wire_a.resize(circuit.loom->wires.size());
  x.fuse_a.resize(all.fuses.size());
  x.contact_a.resize(all.contacts.size());
  x.contact_v.resize(all.contacts.size());
  x.source_out_a.resize(all.sources.size());
  x.source_in_a.resize(all.sources.size());
  x.converter_out_a.resize(all.converters.size());
  x.load_low_v.resize(all.loads.size());
  x.load_high_v.resize(all.loads.size());
  x.load_drop.resize(all.loads.size());
  x.coil_low_v.resize(all.coils.size());
  x.coil_high_v.resize(all.coils.size());
  x.converter_low_v.resize(all.converters.size());
  x.converter_high_v.resize(all.converters.size());
  x.input_high_v.resize(all.inputs.size());
  const std::vector<SupplyPoles> supplies = supply_poles(circuit);
  std::vector<Extreme> by_node(circuit.nodes);
  std::vector<double> low(circuit.nodes), high(circuit.nodes);
  std::vector<int> seen_with(circuit.nodes);
  ConductorPieces conductors(circuit, true);
  for (std::size_t p = 0; p < points.size(); ++p) {
    const std::vector<char> idle = idle_drives(conductors, circuit, points[p]);
    note_point(circuit, points[p], p, idle, x);
    note_drops(circuit, supplies, points[p], p, idle, x);
    note_spread(circuit, own_circuit, points[p], p, low, high, seen_with, by_node);
  }
  for (int node : circuit.node_of) x.terminal_v.push_back(by_node[node]);
  return x;
}

}  // namespace

std::string Solved::describe(const Situation& situation) const {
  return loomproof::describe(*loom, situation);
}

// What needs nothing of one another is computed side by side, or in turn where there is one processor only.
Solved solve(const Loom& loom, bool with_faults) {
  Solved out;
  out.loom = &loom;
  out.circuit = build_circuit(loom);
  auto walk = beside([&] { return with_faults ? walk_faults(out.circuit) : FaultWalk{}; });
  out.graph = graph_of(out.circuit);
  out.zone = zones_of(out.graph, out.circuit);
  Situations all = settle_all(out.circuit);
  out.points = std::move(all.points);
  out.troubled = std::move(all.troubled);
  out.duty_reached = std::move(all.duty_reached);
  out.situations_possible = all.possible;
  out.situations_covered = all.covered;
  out.left_out = std::move(all.left_out);
  out.in_between = std::move(all.in_between);
  auto chargings = beside([&] { return chargings_of(out.circuit, out.graph, out.points, out.troubled); });
  const FaultPaths paths = fault_paths(out.circuit, out.graph);
  auto extremes = beside([&] { return extremes_of(out.circuit, paths.own_circuit, out.points); });
  out.heat = wire_heats(loom, out.circuit, out.points, heat_cases(loom, out.circuit, out.points));
  out.fuse_faults = fuse_faults(out.circuit, paths);
  out.protection = protection_of(out.circuit, out.graph, paths, out.fuse_faults, out.heat);
  out.extremes = extremes.get();
  out.chargings = chargings.get();
  out.open_contact_v = open_contact_voltages(out);
  out.faults = std::make_shared<FaultWalk>(walk.get());
  return out;
}

}  // namespace loomproof
