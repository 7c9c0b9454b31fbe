// The loom as an electrical circuit: nodes, branches, islands.
#include "solve/circuit.h"

#include <algorithm>
#include <numeric>

#include "solve/circuit_graph.h"
#include "solve/insulation.h"
#include "solve/supply.h"
#include "solve/union_find.h"
#include "units/conductor.h"

namespace loomproof {
namespace {

constexpr double unknown_wire_ohm = 1e-3;
constexpr double least_ohm = 1e-6;      // of a contact or fuse that is said to have none
constexpr double unknown_ohm = 1e-3;    // of a contact or fuse of which nothing is said
constexpr double converter_ohm = 5e-3;  // stiffness of a converter's regulated output
constexpr Celsius assumed_ambient{40};
constexpr Celsius bench_air{20};

class Joined {
 public:
  explicit Joined(std::size_t n) : up_(n) { std::iota(up_.begin(), up_.end(), std::size_t{0}); }
  std::size_t top(std::size_t i) {
    while (up_[i] != i) i = up_[i] = up_[up_[i]];
    return i;
  }
  void join(std::size_t a, std::size_t b) { up_[top(a)] = top(b); }

 private:
  std::vector<std::size_t> up_;
};

double ohm_or(const Datum& datum, double otherwise) {
  return datum ? std::max(*datum, least_ohm) : otherwise;
}

void number_nodes(const Loom& loom, Circuit& circuit) {
  Joined joined(loom.terminals.size());
  for (const Part& part : loom.parts) {
    if (!loom.kind_of(part).any_terminal) continue;
    for (TerminalIndex t : part.terminals) joined.join(t.value, part.terminals.front().value);
  }
  for (const Resistance& r : loom.elements.resistances) {
    if (r.ohm && *r.ohm == 0) joined.join(r.a.value, r.b.value);
  }
  circuit.node_of.assign(loom.terminals.size(), -1);
  for (std::size_t t = 0; t < loom.terminals.size(); ++t) {
    int& node = circuit.node_of[joined.top(t)];
    if (node < 0) node = circuit.nodes++;
    circuit.node_of[t] = node;
  }
  for (const Part& part : loom.parts) {
    if (loom.kind_of(part).is_frame && !part.terminals.empty()) circuit.frame_node = circuit.node(part.terminals[0]);
  }
}

void lay_branches(const Loom& loom, Circuit& circuit) {
  const auto add = [&](BranchType type, std::size_t index, TerminalIndex a, TerminalIndex b, double ohm) {
    circuit.branches.push_back({type, index, circuit.node(a), circuit.node(b), 0, ohm});
  };
  for (std::size_t i = 0; i < loom.wires.size(); ++i) {
    const Wire& wire = loom.wires[i];
    const auto ohm = wire_resistance(wire, network_copper_temperature(loom, wire));
    circuit.wire_branch.push_back(circuit.branches.size());
    add(BranchType::wire, i, wire.from, wire.to, ohm ? std::max(ohm->value, least_ohm) : unknown_wire_ohm);
  }
  const Elements& all = loom.elements;
  for (std::size_t i = 0; i < all.resistances.size(); ++i) {
    const Resistance& r = all.resistances[i];
    if (r.ohm && *r.ohm > 0) add(BranchType::resistance, i, r.a, r.b, *r.ohm);
  }
  for (std::size_t i = 0; i < all.dividers.size(); ++i) {
    const Divider& d = all.dividers[i];
    if (!d.ohm) continue;
    add(BranchType::divider_upper, i, d.top, d.tap, *d.ohm);
    add(BranchType::divider_lower, i, d.tap, d.bottom, *d.ohm);
  }
  for (std::size_t i = 0; i < all.fuses.size(); ++i) {
    add(BranchType::fuse, i, all.fuses[i].a, all.fuses[i].b, ohm_or(all.fuses[i].ohm, unknown_ohm));
  }
  for (std::size_t i = 0; i < all.contacts.size(); ++i) {
    add(BranchType::contact, i, all.contacts[i].a, all.contacts[i].b, ohm_or(all.contacts[i].ohm, unknown_ohm));
  }
  for (std::size_t i = 0; i < all.coils.size(); ++i) {
    if (all.coils[i].ohm) add(BranchType::coil, i, all.coils[i].a, all.coils[i].b, ohm_or(all.coils[i].ohm, 1));
  }
  for (std::size_t i = 0; i < all.loads.size(); ++i) {
    const Load& load = all.loads[i];
    add(BranchType::load, i, load.pos, load.neg,
        load.form == Load::Form::resistive && load.amount ? std::max(*load.amount, least_ohm) : 1.0);
  }
  for (std::size_t i = 0; i < all.inputs.size(); ++i) {
    const Input& input = all.inputs[i];
    if (input.pull_to && input.pull_ohm) {
      add(BranchType::pull, i, input.terminal, *input.pull_to, ohm_or(input.pull_ohm, 1));
    }
  }
  for (std::size_t i = 0; i < all.sources.size(); ++i) {
    const Source& s = all.sources[i];
    add(BranchType::source, i, s.pos, s.neg, ohm_or(s.ohm, unknown_ohm) * s.share);
  }
  for (std::size_t i = 0; i < all.converters.size(); ++i) {
    const Converter& c = all.converters[i];
    add(BranchType::converter_in, i, c.in_pos, c.in_neg, 1.0);
    add(BranchType::converter_out, i, c.out_pos, c.out_neg, converter_ohm);
  }
  for (std::size_t i = 0; i < all.diodes.size(); ++i) {
    add(BranchType::diode, i, all.diodes[i].anode, all.diodes[i].cathode, ohm_or(all.diodes[i].ohm, 10e-3));
  }
}

void split_islands(Circuit& circuit) {
  Joined joined(static_cast<std::size_t>(circuit.nodes));
  for (const Branch& b : circuit.branches) joined.join(static_cast<std::size_t>(b.a), static_cast<std::size_t>(b.b));
  circuit.island_of.assign(circuit.nodes, -1);
  circuit.local_of.assign(circuit.nodes, 0);
  for (int n = 0; n < circuit.nodes; ++n) {
    int& island = circuit.island_of[joined.top(static_cast<std::size_t>(n))];
    if (island < 0) {
      island = static_cast<int>(circuit.island_nodes.size());
      circuit.island_nodes.emplace_back();
    }
    circuit.island_of[n] = island;
    circuit.local_of[n] = static_cast<int>(circuit.island_nodes[island].size());
    circuit.island_nodes[island].push_back(n);
  }
  circuit.island_branches.resize(circuit.island_nodes.size());
  for (std::size_t i = 0; i < circuit.branches.size(); ++i) {
    Branch& b = circuit.branches[i];
    b.island = circuit.island_of[b.a];
    circuit.island_branches[b.island].push_back(i);
  }
}

// 0 V of a piece: the frame, else the negative of a source in file order, else any node.
void rank_grounds(const Loom& loom, Circuit& circuit) {
  circuit.ground_rank.assign(circuit.nodes, circuit.nodes + 1);
  int rank = 0;
  const auto claim = [&](int node) { circuit.ground_rank[node] = std::min(circuit.ground_rank[node], rank++); };
  if (circuit.frame_node >= 0) claim(circuit.frame_node);
  for (const Source& s : loom.elements.sources) claim(circuit.node(s.neg));
  for (const Converter& c : loom.elements.converters) claim(circuit.node(c.out_neg));
}

void pair_leads(const Loom& loom, Circuit& circuit) {
  const auto& leads = loom.elements.leads;
  for (std::size_t i = 0; i < leads.size(); ++i) {
    if (!leads[i].gives) continue;
    const int from = circuit.node(leads[i].terminal);
    for (const Lead& other : leads) {
      const int to = circuit.node(other.terminal);
      if (other.gives || other.channel != leads[i].channel || circuit.island_of[to] != circuit.island_of[from])
        continue;
      circuit.lead_pairs.push_back({leads[i].part, i, from, to});
    }
  }
}

}  // namespace

Celsius ambient_of(const Loom& loom) {
  return loom.ambient ? loom.ambient->value : assumed_ambient;
}

Celsius cold_start(const Loom& loom) {
  return loom.coldest ? std::min(loom.coldest->value, bench_air) : bench_air;
}

Celsius air_beside(const Loom& loom, const Wire& wire) {
  std::optional<Celsius> hottest;
  for (BundleIndex i : wire.bundles) {
    const auto& ambient = loom.bundles[i.value].ambient;
    if (ambient && (!hottest || ambient->value > *hottest)) hottest = ambient->value;
  }
  if (hottest) return *hottest;
  return ambient_of(loom);
}

Celsius network_copper_temperature(const Loom& loom, const Wire& wire) {
  const Celsius warm = air_beside(loom, wire) + Celsius(30);
  const auto insulation =
      find_insulation(wire.insulation ? std::string_view(wire.insulation->value) : assumed_insulation);
  return insulation ? std::min(warm, std::max(insulation->limit, air_beside(loom, wire))) : warm;
}

std::optional<Ohm> wire_resistance(const Wire& wire, Celsius copper) {
  if (!wire.size || !wire.length) return std::nullopt;
  return Ohm(copper_ohm_per_metre(wire.size->value, copper) * wire.length->value.value);
}

namespace {

// Counted as ways, free-wheeling diodes would tie the two poles of their supply together.
void see_diodes(Circuit& circuit) {
  const auto& diodes = circuit.loom->elements.diodes;
  circuit.diode_stands.assign(diodes.size(), DiodeStand::apart);
  if (diodes.empty()) return;
  std::vector<int> up(circuit.nodes);
  std::iota(up.begin(), up.end(), 0);
  std::vector<const Branch*> arrows;
  for (const Branch& b : circuit.branches) {
    if (b.type == BranchType::diode) {
      arrows.push_back(&b);
    } else if (is_conductor(circuit, b)) {
      up[top(up, b.a)] = top(up, b.b);
    }
  }
  // What can be reached from a node by other diodes than one, with their arrows or against them.
  const auto reached = [&](int from, const Branch& without, bool with_arrows) {
    std::vector<char> is(circuit.nodes, 0);
    is[top(up, from)] = 1;
    for (bool more = true; more;) {
      more = false;
      for (const Branch* b : arrows) {
        if (b == &without) continue;
        const int near = top(up, with_arrows ? b->a : b->b), far = top(up, with_arrows ? b->b : b->a);
        if (is[near] == 0 || is[far] != 0) continue;
        is[far] = 1;
        more = true;
      }
    }
    return is;
  };
  const std::vector<SupplyPoles> supplies = supply_poles(circuit);
  for (const Branch* diode : arrows) {
    bool backward = false, forward = false;
    for (const SupplyPoles& s : supplies) {
      const std::vector<char> fed = reached(s.pos, *diode, true), returns = reached(s.neg, *diode, false);
      const int anode = top(up, diode->a), cathode = top(up, diode->b);
      backward |= returns[anode] != 0 && fed[cathode] != 0;
      forward |= fed[anode] != 0 && returns[cathode] != 0;
    }
    if (backward != forward) circuit.diode_stands[diode->index] = backward ? DiodeStand::backward : DiodeStand::forward;
  }
}

}  // namespace

Circuit build_circuit(const Loom& loom) {
  Circuit circuit;
  circuit.loom = &loom;
  number_nodes(loom, circuit);
  lay_branches(loom, circuit);
  split_islands(circuit);
  rank_grounds(loom, circuit);
  pair_leads(loom, circuit);
  see_diodes(circuit);
  return circuit;
}

}  // namespace loomproof
