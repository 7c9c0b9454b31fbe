// Switches that only put consumers on a supply or take them off.
#include "solve/accessories.h"

#include <algorithm>
#include <numeric>
#include <utility>

#include "solve/circuit_graph.h"
#include "solve/deciding_parts.h"
#include "solve/union_find.h"

namespace loomproof {
namespace {

bool is_relay(const Circuit& circuit, std::size_t part) {
  const Elements& all = circuit.loom->elements;
  const auto has = [&](const auto& list) {
    return std::any_of(list.begin(), list.end(), [&](const auto& e) { return e.part.value == part; });
  };
  return has(all.coils) && has(all.contacts) && !has(all.inputs) && !has(all.outputs) && !has(all.sources) &&
         !has(all.converters) && !has(all.loads) && circuit.loom->parts[part].positions.size() < 2;
}

// Accessories that have not been ruled out yet. With every contact that moves taken out the circuit falls into pieces:
// *supplies*, which reach what decides or a contact that is no accessory's, and *consumers*. An accessory may tie
// consumers to one another and to one supply. One that is ruled out decides, and may rule out others: everything is
// looked at again until nothing changes.
class Sorting {
 public:
  explicit Sorting(const Circuit& circuit)
      : circuit_(circuit),
        piece_(components(graph_of(circuit), circuit,
                          [&](const Branch& b) {
                            return is_conductor(circuit, b) && !(b.type == BranchType::contact &&
                                                                 circuit.loom->elements.contacts[b.index].operated);
                          })),
        firm_(pieces(), 0),
        may_be_(circuit.loom->parts.size(), 0) {
    for (const Branch& b : circuit.branches) {
      if (b.type == BranchType::source || b.type == BranchType::converter_out)
        firm_[piece_[b.a]] = firm_[piece_[b.b]] = 1;
    }
    for (std::size_t p = 0; p < may_be_.size(); ++p) {
      const bool moves = circuit.loom->parts[p].positions.size() > 1 || is_relay(circuit, p);
      may_be_[p] = static_cast<char>(moves && !commands_itself(circuit, p));
    }
    for (std::vector<char> before; before != may_be_;) {
      before = may_be_;
      find_supplies();
      follow_contacts();
      if (before == may_be_) follow_consumers();
      if (before == may_be_) follow_coils();
    }
  }

  Accessories result() {
    const Loom& loom = *circuit_.loom;
    Accessories out;
    out.relays.assign(loom.parts.size(), 0);
    std::vector<std::vector<std::size_t>> by_top(loom.parts.size());
    for (std::size_t p = 0; p < loom.parts.size(); ++p) {
      if (loom.parts[p].positions.size() < 2) {
        out.relays[p] = may_be_[p];
      } else if (may_be_[p] == 0) {
        out.deciding.push_back(p);
      } else {
        by_top[top(up_, static_cast<int>(p))].push_back(p);
      }
    }
    for (auto& group : by_top) {
      if (!group.empty()) out.groups.push_back(std::move(group));
    }
    return out;
  }

 private:
  static constexpr int nobody = -1;

  std::size_t pieces() const {
    return piece_.empty() ? 0 : static_cast<std::size_t>(*std::max_element(piece_.begin(), piece_.end())) + 1;
  }

  std::size_t part_of(const Branch& contact) const {
    return circuit_.loom->elements.contacts[contact.index].part.value;
  }

  template <class Each>
  void each_contact(const Each& each) const {
    for (const Branch& b : circuit_.branches) {
      if (b.type == BranchType::contact && circuit_.loom->elements.contacts[b.index].operated) each(b);
    }
  }

  void find_supplies() {
    is_supply_ = firm_;
    // A coil of a relay that may be an accessory decides nothing but what the relay feeds.
    const std::vector<char> decides =
        deciding_nodes(circuit_, [&](const Coil& c) { return may_be_[c.part.value] == 0; });
    for (int n = 0; n < circuit_.nodes; ++n) is_supply_[piece_[n]] |= decides[n];
    each_contact([&](const Branch& b) {
      if (may_be_[part_of(b)] == 0) is_supply_[piece_[b.a]] = is_supply_[piece_[b.b]] = 1;
    });
  }

  // Consumers that accessories tie to one another are one; what feeds them must be one supply.
  void follow_contacts() {
    up_.resize(may_be_.size());
    std::iota(up_.begin(), up_.end(), 0);
    feeder_.assign(pieces(), nobody);
    std::vector<int> tied(pieces());
    std::iota(tied.begin(), tied.end(), 0);
    each_contact([&](const Branch& b) {
      if (may_be_[part_of(b)] == 0) return;
      const int a = piece_[b.a], c = piece_[b.b];
      if (is_supply_[a] == 0 && is_supply_[c] == 0) tied[top(tied, a)] = top(tied, c);
      for (int piece : {a, c}) {
        if (is_supply_[piece] != 0) continue;
        const int part = static_cast<int>(part_of(b));
        if (feeder_[piece] != nobody) join(feeder_[piece], part);
        feeder_[piece] = part;
      }
    });
    std::vector<int> supply(pieces(), nobody);
    each_contact([&](const Branch& b) {
      const std::size_t part = part_of(b);
      if (may_be_[part] == 0) return;
      int a = piece_[b.a], c = piece_[b.b];
      if (is_supply_[a] == 0) std::swap(a, c);
      if (is_supply_[a] == 0 || a == c) return;
      if (is_supply_[c] != 0) {
        may_be_[part] = 0;
        return;
      }
      int& of = supply[top(tied, c)];
      if (of != nobody && of != a) rule_out_group(static_cast<int>(part));
      of = a;
    });
  }

  void join(int a, int b) { up_[top(up_, a)] = top(up_, b); }

  void rule_out_group(int of) {
    for (std::size_t p = 0; p < may_be_.size(); ++p) {
      if (top(up_, static_cast<int>(p)) == top(up_, of)) may_be_[p] = 0;
    }
  }

  // Consumers between two groups make one of them; their far ends must lie firmly at a pole.
  void follow_consumers() {
    for (const Branch& b : circuit_.branches) {
      const int a = piece_[b.a], c = piece_[b.b];
      if (b.type == BranchType::contact || a == c) continue;
      const int fed_a = feeder_[a], fed_c = feeder_[c];
      if (fed_a != nobody && fed_c != nobody) {
        join(fed_a, fed_c);
      } else if (fed_a != nobody || fed_c != nobody) {
        if (firm_[fed_a != nobody ? c : a] == 0) rule_out_group(fed_a != nobody ? fed_a : fed_c);
      }
    }
  }

  // A relay goes with whatever feeds its coil; one that no accessory feeds follows what decides.
  void follow_coils() {
    std::vector<char> commanded(may_be_.size(), 0);
    for (const Coil& c : circuit_.loom->elements.coils) {
      if (may_be_[c.part.value] == 0) continue;
      const int a = piece_[circuit_.node(c.a)], b = piece_[circuit_.node(c.b)];
      for (const auto& [near, far] : {std::pair(a, b), std::pair(b, a)}) {
        if (feeder_[near] == nobody) continue;
        join(feeder_[near], static_cast<int>(c.part.value));
        commanded[c.part.value] = 1;
        if (feeder_[far] == nobody && firm_[far] == 0) rule_out_group(feeder_[near]);
      }
    }
    for (std::size_t p = 0; p < may_be_.size(); ++p) {
      if (may_be_[p] != 0 && circuit_.loom->parts[p].positions.size() < 2 && commanded[p] == 0) may_be_[p] = 0;
    }
  }

  const Circuit& circuit_;
  std::vector<int> piece_;       // by node
  std::vector<char> firm_;       // by piece: at a pole of a supply, whatever is switched
  std::vector<char> is_supply_;  // by piece
  std::vector<int> feeder_;      // by piece of consumers: a part that feeds it
  std::vector<char> may_be_;     // by part
  std::vector<int> up_;          // by part: groups
};

}  // namespace

Accessories accessories_of(const Circuit& circuit) {
  return Sorting(circuit).result();
}

}  // namespace loomproof
