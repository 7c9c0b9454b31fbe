// The whole circuit as linear islands.
#include "solve/linear_network.h"

#include <algorithm>
#include <numeric>
#include <utility>

#include "solve/branch_laws.h"
#include "solve/union_find.h"

namespace loomproof {

double own_conductance(const Circuit& circuit, const Branch& b) {
  const bool unknown = b.type == BranchType::load && !circuit.loom->elements.loads[b.index].amount;
  return unknown ? 0 : 1 / b.ohm;
}

std::vector<char> watched_nodes(const Circuit& circuit) {
  const Elements& all = circuit.loom->elements;
  std::vector<char> watched(circuit.nodes, 0);
  const auto mark = [&](TerminalIndex t) { watched[circuit.node(t)] = 1; };
  const auto mark_condition = [&](const auto& self, const Condition& c) -> void {
    if (c.op == Condition::Op::powered) mark(c.pos), mark(c.neg);
    for (const Condition& child : c.of) self(self, child);
  };
  for (const Branch& b : circuit.branches) {
    if (is_active(circuit, b)) watched[b.a] = watched[b.b] = 1;
  }
  for (const LeadPair& pair : circuit.lead_pairs) watched[pair.from] = watched[pair.to] = 1;
  for (const Coil& c : all.coils) mark(c.a), mark(c.b);
  for (const Input& i : all.inputs) mark(i.terminal), mark(i.reference);
  for (const Source& s : all.sources) mark_condition(mark_condition, s.when);
  for (const Converter& c : all.converters) mark_condition(mark_condition, c.when);
  for (const Contact& c : all.contacts) mark_condition(mark_condition, c.closed_when);
  for (const Output& o : all.outputs) mark_condition(mark_condition, o.when);
  return watched;
}

LinearNetwork::LinearNetwork(const Circuit& circuit, bool opens_contacts)
    : circuit_(circuit), opens_contacts_(opens_contacts), watched_(watched_nodes(circuit)) {
  opened_.assign(circuit.branches.size(), 0);
  lay({});
}

bool LinearNetwork::lasts(const Branch& b) const {
  if (is_active(circuit_, b)) return false;
  if (b.type == BranchType::contact)
    return !opens_contacts_ && circuit_.loom->elements.contacts[b.index].closed_when.op == Condition::Op::always;
  return own_conductance(circuit_, b) > 0;
}

void LinearNetwork::lay(const std::vector<CircuitChange::Bridge>& bridges) {
  // Bridges may join islands; the frame's leakage of one islands' fault to another is what they are laid for.
  std::vector<int> up(circuit_.island_nodes.size());
  std::iota(up.begin(), up.end(), 0);
  for (const auto& bridge : bridges) up[top(up, circuit_.island_of[bridge.a])] = top(up, circuit_.island_of[bridge.b]);
  std::vector<std::size_t> number(up.size());
  std::vector<std::vector<int>> nodes;
  for (std::size_t k = 0; k < up.size(); ++k) {
    if (up[k] != static_cast<int>(k)) continue;
    number[k] = nodes.size();
    nodes.emplace_back();
  }
  const auto island_of = [&](int node) { return number[top(up, circuit_.island_of[node])]; };
  for (int n = 0; n < circuit_.nodes; ++n) nodes[island_of(n)].push_back(n);
  std::vector<std::vector<IslandLink>> links(nodes.size());
  const auto add = [&](int a, int b, bool lasting, bool pushes) {
    const std::size_t island = island_of(a);
    links[island].push_back({a, b, lasting, pushes});
    return Home{island, links[island].size() - 1};
  };
  home_.clear();
  pair_home_.clear();
  for (const Branch& b : circuit_.branches) home_.push_back(add(b.a, b.b, lasts(b), is_active(circuit_, b)));
  for (const LeadPair& pair : circuit_.lead_pairs) pair_home_.push_back(add(pair.from, pair.to, false, true));
  std::vector<Home> bridge_home;
  for (const auto& bridge : bridges) bridge_home.push_back(add(bridge.a, bridge.b, true, false));
  islands_.clear();
  for (std::size_t k = 0; k < nodes.size(); ++k)
    islands_.emplace_back(std::move(nodes[k]), watched_, links[k], circuit_.ground_rank);
  for (std::size_t i = 0; i < bridges.size(); ++i)
    islands_[bridge_home[i].island].set_conductance(bridge_home[i].link, 1 / bridges[i].ohm);
  for (std::size_t i = 0; i < circuit_.branches.size(); ++i) {
    const Branch& b = circuit_.branches[i];
    if (is_active(circuit_, b) || b.type == BranchType::contact || is_divider(b)) continue;
    islands_[home_[i].island].set_conductance(home_[i].link, own_conductance(circuit_, b));
  }
  is_new_.assign(islands_.size(), 1);
  rest_stale_.assign(islands_.size(), 1);
}

void LinearNetwork::alter(const CircuitChange& change) {
  if (!change.bridges.empty() || !change_.bridges.empty()) lay(change.bridges);
  const auto restore = [&](std::size_t i) {
    const Branch& b = circuit_.branches[i];
    Island& island = islands_[home_[i].island];
    if (!is_active(circuit_, b) && b.type != BranchType::contact && !is_divider(b))
      island.set_conductance(home_[i].link, own_conductance(circuit_, b));
    island.set_lasting(home_[i].link, lasts(b));
  };
  const auto open = [&](std::size_t i) {
    Island& island = islands_[home_[i].island];
    island.set_lasting(home_[i].link, false);
    island.set_conductance(home_[i].link, 0);
    island.set_push(home_[i].link, 0);
  };
  for (std::size_t i = 0; i < opened_.size(); ++i) {
    if (std::exchange(opened_[i], char{0}) != 0) restore(i);
  }
  for (std::size_t i : change.open) {
    opened_[i] = 1;
    open(i);
  }
  if (!opens_contacts_ && (!change.logic.contacts_open.empty() || !change_.logic.contacts_open.empty())) {
    for (std::size_t i = 0; i < circuit_.branches.size(); ++i) {
      const Branch& b = circuit_.branches[i];
      if (b.type != BranchType::contact || opened_[i] != 0) continue;
      const auto& held = change.logic.contacts_open;
      const bool is_held = std::find(held.begin(), held.end(), b.index) != held.end();
      islands_[home_[i].island].set_lasting(home_[i].link, !is_held && lasts(b));
    }
  }
  change_ = change;
}

bool LinearNetwork::solve(std::size_t k, OperatingPoint& point) {
  Island& island = islands_[k];
  const bool is_new = std::exchange(is_new_[k], char{0}) != 0;
  const bool moved = island.solve();
  if (!island.solve_watched() && !moved && !is_new) return false;
  rest_stale_[k] = 1;
  const std::vector<int>& nodes = island.nodes();
  const std::vector<double>& v = island.v();
  for (auto i = static_cast<std::size_t>(island.first_watched()); i < nodes.size(); ++i) point.node_v[nodes[i]] = v[i];
  if (island.pieces_moved() || is_new) {
    for (std::size_t i = 0; i < nodes.size(); ++i) point.piece[nodes[i]] = nodes[island.ground(static_cast<int>(i))];
  }
  return true;
}

void LinearNetwork::solve_rest(OperatingPoint& point) {
  for (std::size_t k = 0; k < islands_.size(); ++k) {
    if (std::exchange(rest_stale_[k], char{0}) == 0) continue;
    Island& island = islands_[k];
    island.solve_rest();
    const auto rest = static_cast<std::size_t>(island.first_watched());
    for (std::size_t i = 0; i < rest; ++i) point.node_v[island.nodes()[i]] = island.v()[i];
  }
}

double LinearNetwork::ground_current() const {
  double most = 0;
  for (const Island& island : islands_) most = std::max(most, island.ground_current());
  return most;
}

}  // namespace loomproof
