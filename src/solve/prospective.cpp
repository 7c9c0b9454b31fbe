// Currents that a short circuit can drive.
#include "solve/prospective.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "solve/source_network.h"

namespace loomproof {
namespace {

constexpr double least_fault_a = 1e-3;
// Of a short beside the fuse: what passes the fuse is no mere consumer's share of it.
constexpr double least_share = 0.01;

struct Pole {
  int node;
  std::optional<std::size_t> source;  // none: of a converter
};

// Larger of what the fault holds and what this short does.
void meet(const SourceNetwork& network, const SourceNetwork& unloaded, const Branch& fuse, int end, const Pole& pole,
          FuseFault& fault, double share = 0) {
  if (end == pole.node || !network.tied(end, pole.node)) return;
  const Eigen::VectorXd& at_pole = network.column(pole.node);
  const double thevenin = network.self(end) + at_pole[pole.node] - 2 * at_pole[end];
  if (!(thevenin > 0)) return;
  const double short_a = network.open_v(end, pole.node) / thevenin;
  const double drawn =
      (at_pole[fuse.a] - network.between(end, fuse.a)) - (at_pole[fuse.b] - network.between(end, fuse.b));
  const double through = std::fabs((network.open_v(fuse.a, fuse.b) + short_a * drawn) / network.ohm(fuse));
  if (std::fabs(drawn / network.ohm(fuse)) < share) return;
  if (through > fault.largest_a) {
    fault.largest_a = through;
    fault.source = pole.source;
  }
  // Open, it stands the voltage of the loop that it broke, and nothing need draw on the sources then.
  if (through <= least_fault_a) return;
  fault.voltage_v = std::max(fault.voltage_v, std::fabs(network.open_v(end, pole.node)));
  if (unloaded.tied(end, pole.node))
    fault.voltage_v = std::max(fault.voltage_v, std::fabs(unloaded.open_v(end, pole.node)));
}

std::vector<Pole> own_poles(const std::vector<Pole>& all, const FaultPaths& paths, const Branch& fuse) {
  std::vector<Pole> out;
  for (const Pole& p : all) {
    if (paths.own_circuit[p.node] == paths.own_circuit[fuse.a]) out.push_back(p);
  }
  return out;
}

// A fuse between two packs in series lies at no end of the short that it has most volts to break at: both packs at
// once, from pole to pole.
void meet_between_poles(const SourceNetwork& network, const SourceNetwork& unloaded, const Branch& fuse,
                        const std::vector<Pole>& poles, FuseFault& fault) {
  for (std::size_t i = 0; i < poles.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) meet(network, unloaded, fuse, poles[i].node, poles[j], fault, least_share);
  }
}

}  // namespace

std::optional<UntoldSupply> untold_battery(const Circuit& circuit, const FaultPaths& paths, int node) {
  for (const Source& s : circuit.loom->elements.sources) {
    if (s.sinks && !s.ohm && !s.limit_a && paths.own_circuit[circuit.node(s.pos)] == paths.own_circuit[node])
      return UntoldSupply{&s, &s.ohm, "1.2 mohm"};
  }
  return std::nullopt;
}

std::optional<UntoldSupply> untold_supply(const Circuit& circuit, const FaultPaths& paths, int node) {
  const auto own = [&](TerminalIndex t) { return paths.own_circuit[circuit.node(t)] == paths.own_circuit[node]; };
  std::set<std::size_t> batteries;
  for (const Source& s : circuit.loom->elements.sources) {
    if (s.sinks && own(s.pos)) batteries.insert(s.part.value);
  }
  if (batteries.size() > 1) {
    if (const auto battery = untold_battery(circuit, paths, node)) return battery;
  }
  for (const Source& s : circuit.loom->elements.sources) {
    if (s.sinks || !own(s.pos)) continue;
    if (!s.limit_a) return UntoldSupply{&s, &s.limit_a, "15 A"};
    if (!s.full_v) return UntoldSupply{&s, &s.full_v, "58.4 V"};
  }
  for (const Converter& c : circuit.loom->elements.converters) {
    if (!own(c.out_pos)) continue;
    if (!c.limit_a) return UntoldSupply{&c, &c.limit_a, "20 A"};
    if (!c.volts_v) return UntoldSupply{&c, &c.volts_v, "13.2 V"};
  }
  return std::nullopt;
}

std::vector<FuseFault> fuse_faults(const Circuit& circuit, const FaultPaths& paths) {
  const Elements& all = circuit.loom->elements;
  std::vector<FuseFault> faults(all.fuses.size());
  if (all.fuses.empty()) return faults;
  const SourceNetwork network(circuit, {.full = true, .hot_wires = false, .limited = true});
  const SourceNetwork unloaded(circuit, {.full = true, .hot_wires = false, .consumers = false, .limited = true});
  std::vector<std::vector<Pole>> poles(circuit.island_nodes.size());
  const auto pole = [&](TerminalIndex t, std::optional<std::size_t> source) {
    auto& list = poles[circuit.island_of[circuit.node(t)]];
    const int node = circuit.node(t);
    if (std::none_of(list.begin(), list.end(), [&](const Pole& p) { return p.node == node; }))
      list.push_back({node, source});
  };
  for (std::size_t i = 0; i < all.sources.size(); ++i) {
    pole(all.sources[i].pos, i);
    pole(all.sources[i].neg, i);
  }
  for (const Converter& c : all.converters) {
    pole(c.out_pos, std::nullopt);
    pole(c.out_neg, std::nullopt);
  }
  for (const Branch& b : circuit.branches) {
    if (b.type != BranchType::fuse) continue;
    FuseFault& fault = faults[b.index];
    for (const Pole& p : poles[b.island]) {
      if (paths.own_circuit[p.node] == paths.own_circuit[b.a]) {
        for (const int end : {b.a, b.b}) meet(network, unloaded, b, end, p, fault);
      } else if (circuit.frame_node >= 0 && paths.fuse_in_frame_faults[b.index] != 0) {
        meet(network, unloaded, b, circuit.frame_node, p, fault);
      }
    }
    meet_between_poles(network, unloaded, b, own_poles(poles[b.island], paths, b), fault);
  }
  for (std::size_t i = 0; i < faults.size(); ++i) {
    faults[i].untold = untold_supply(circuit, paths, circuit.node(all.fuses[i].a));
    faults[i].battery = untold_battery(circuit, paths, circuit.node(all.fuses[i].a));
  }
  return faults;
}

double short_circuit_a(const Circuit& circuit, TerminalIndex a, TerminalIndex b) {
  const SourceNetwork network(circuit, {.full = true, .hot_wires = false, .limited = true});
  const SourceNetwork unloaded(circuit, {.full = true, .hot_wires = false, .consumers = false, .limited = true});
  const int from = circuit.node(a), to = circuit.node(b);
  if (from == to || !network.tied(from, to)) return 0;
  return std::fabs(network.open_v(from, to)) / network.thevenin(from, to);
}

}  // namespace loomproof
