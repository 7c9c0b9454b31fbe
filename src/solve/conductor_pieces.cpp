// What wires, fuses and closed contacts join, without any resistance worth the name between.
#include "solve/conductor_pieces.h"

#include <numeric>

#include "solve/circuit_graph.h"
#include "solve/union_find.h"

namespace loomproof {
ConductorPieces::ConductorPieces(const Circuit& circuit, bool diodes_conduct) : circuit_(circuit) {
  std::vector<int> up(circuit.nodes);
  std::iota(up.begin(), up.end(), 0);
  for (const Branch& b : circuit.branches) {
    if (b.type == BranchType::contact || (b.type == BranchType::diode && !diodes_conduct)) continue;
    if (is_conductor(circuit, b)) up[top(up, b.a)] = top(up, b.b);
  }
  cluster_.assign(circuit.nodes, 0);
  std::vector<int> number(circuit.nodes, -1);
  int clusters = 0;
  for (const std::vector<int>& nodes : circuit.island_nodes) {
    IslandState& island = islands_.emplace_back();
    island.first_cluster = clusters;
    for (int n : nodes) {
      int& cluster = number[top(up, n)];
      if (cluster < 0) cluster = clusters++;
      cluster_[n] = cluster;
    }
    island.clusters = clusters - island.first_cluster;
  }
  up_.resize(clusters);
  for (const Branch& b : circuit.branches) {
    if (b.type != BranchType::contact || cluster_[b.a] == cluster_[b.b]) continue;
    islands_[b.island].gates.push_back({b.index, cluster_[b.a], cluster_[b.b]});
  }
  for (IslandState& island : islands_) island.closed.assign(island.gates.size(), 0);
}

bool ConductorPieces::joined(const LogicState& logic, int a, int b) {
  if (circuit_.island_of[a] != circuit_.island_of[b]) return false;
  IslandState& island = islands_[circuit_.island_of[a]];
  bool same = island.known;
  for (std::size_t i = 0; i < island.gates.size(); ++i) {
    const std::uint8_t closed = logic.contact_closed[island.gates[i].contact];
    same &= closed == island.closed[i];
    island.closed[i] = closed;
  }
  if (!same) {
    island.known = true;
    const int end = island.first_cluster + island.clusters;
    for (int c = island.first_cluster; c < end; ++c) up_[c] = c;
    for (std::size_t i = 0; i < island.gates.size(); ++i) {
      if (island.closed[i] != 0) up_[top(up_, island.gates[i].a)] = top(up_, island.gates[i].b);
    }
  }
  return top(up_, cluster_[a]) == top(up_, cluster_[b]);
}

bool is_fed(ConductorPieces& pieces, const Circuit& circuit, const LogicState& logic, TerminalIndex pos,
            TerminalIndex neg) {
  const auto at_a_pole = [&](TerminalIndex end) {
    const auto joined = [&](TerminalIndex pole) { return pieces.joined(logic, circuit.node(end), circuit.node(pole)); };
    for (const Source& s : circuit.loom->elements.sources) {
      if (joined(s.pos) || joined(s.neg)) return true;
    }
    for (const Converter& c : circuit.loom->elements.converters) {
      if (joined(c.out_pos) || joined(c.out_neg)) return true;
    }
    return false;
  };
  return at_a_pole(pos) && at_a_pole(neg);
}

}  // namespace loomproof
