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

// Accessories that have not been ruled out yet, and what each feeds. One that is ruled out decides, and may rule out
// others: everything is looked at again until nothing changes.
class Sorting {
 public:
  explicit Sorting(const Circuit& circuit)
      : circuit_(circuit), graph_(graph_of(circuit)), firm_(firm_nodes()), may_be_(circuit.loom->parts.size(), 0) {
    for (std::size_t p = 0; p < may_be_.size(); ++p)
      may_be_[p] = static_cast<char>(circuit.loom->parts[p].positions.size() > 1 || is_relay(circuit, p));
    while (!is_consistent()) {
    }
  }

  Accessories result() {
    const Loom& loom = *circuit_.loom;
    Accessories out;
    std::vector<std::vector<std::size_t>> by_top(loom.parts.size());
    for (std::size_t p = 0; p < loom.parts.size(); ++p) {
      if (loom.parts[p].positions.size() < 2) continue;
      if (may_be_[p] == 0) {
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
  // Nodes that lie at a pole of a supply whatever is switched.
  std::vector<char> firm_nodes() const {
    const std::vector<int> piece = components(graph_, circuit_, [&](const Branch& b) {
      return is_conductor(circuit_, b) &&
             !(b.type == BranchType::contact && circuit_.loom->elements.contacts[b.index].operated);
    });
    std::vector<char> has_pole(piece.size(), 0), out(piece.size(), 0);
    for (const Branch& b : circuit_.branches) {
      if (b.type == BranchType::source || b.type == BranchType::converter_out)
        has_pole[piece[b.a]] = has_pole[piece[b.b]] = 1;
    }
    for (std::size_t n = 0; n < out.size(); ++n) out[n] = has_pole[piece[n]];
    return out;
  }

  void rule_out(std::size_t part) { may_be_[part] = 0; }

  bool is_consistent() {
    const Loom& loom = *circuit_.loom;
    up_.resize(loom.parts.size());
    std::iota(up_.begin(), up_.end(), 0);
    feeder_.assign(circuit_.nodes, -1);
    const std::vector<char> before = may_be_;
    // A coil of a relay that may be an accessory decides nothing but what the relay feeds.
    const std::vector<char> decides_node =
        deciding_nodes(circuit_, [&](const Coil& c) { return may_be_[c.part.value] == 0; });
    for (std::size_t p = 0; p < loom.parts.size(); ++p) {
      if (may_be_[p] != 0 && (commands_itself(circuit_, p) || !claim(p, decides_node))) rule_out(p);
    }
    if (may_be_ == before) follow_consumers();
    if (may_be_ == before) follow_coils();
    return may_be_ == before;
  }

  // What the part feeds when it alone is taken out; false where both sides of a contact lead to what decides.
  bool claim(std::size_t part, const std::vector<char>& decides_node) {
    const auto& contacts = circuit_.loom->elements.contacts;
    const auto is_own = [&](const Branch& b) {
      return b.type == BranchType::contact && contacts[b.index].part.value == part;
    };
    const std::vector<int> piece =
        components(graph_, circuit_, [&](const Branch& b) { return !is_own(b) && is_conductor(circuit_, b); });
    std::vector<char> piece_decides(piece.size(), 0), is_fed(piece.size(), 0);
    for (int n = 0; n < circuit_.nodes; ++n) piece_decides[piece[n]] |= decides_node[n];
    for (const Branch& b : circuit_.branches) {
      if (!is_own(b)) continue;
      if (piece_decides[piece[b.a]] != 0 && piece_decides[piece[b.b]] != 0) return false;
      for (int n : {b.a, b.b}) is_fed[piece[n]] |= static_cast<char>(piece_decides[piece[n]] == 0);
    }
    for (int n = 0; n < circuit_.nodes; ++n) {
      if (is_fed[piece[n]] == 0) continue;
      if (feeder_[n] >= 0) join(feeder_[n], static_cast<int>(part));
      feeder_[n] = static_cast<int>(part);
    }
    return true;
  }

  void join(int a, int b) { up_[top(up_, a)] = top(up_, b); }

  // Consumers between two groups make one of them; their far ends must lie firmly at a pole.
  void follow_consumers() {
    for (const Branch& b : circuit_.branches) {
      const int fed_a = feeder_[b.a], fed_b = feeder_[b.b];
      if (fed_a >= 0 && fed_b >= 0) {
        join(fed_a, fed_b);
      } else if ((fed_a >= 0 || fed_b >= 0) && !is_conductor(circuit_, b)) {
        if (firm_[fed_a >= 0 ? b.b : b.a] == 0) rule_out_group(fed_a >= 0 ? fed_a : fed_b);
      }
    }
  }

  void rule_out_group(int of) {
    for (std::size_t p = 0; p < may_be_.size(); ++p) {
      if (top(up_, static_cast<int>(p)) == top(up_, of)) rule_out(p);
    }
  }

  // A relay goes with whatever feeds its coil; one that no accessory feeds follows what decides.
  void follow_coils() {
    std::vector<char> commanded(may_be_.size(), 0);
    for (const Coil& c : circuit_.loom->elements.coils) {
      if (may_be_[c.part.value] == 0) continue;
      const int a = circuit_.node(c.a), b = circuit_.node(c.b);
      for (const auto& [n, far] : {std::pair(a, b), std::pair(b, a)}) {
        if (feeder_[n] < 0) continue;
        join(feeder_[n], static_cast<int>(c.part.value));
        commanded[c.part.value] = 1;
        if (feeder_[far] < 0 && firm_[far] == 0) rule_out_group(feeder_[n]);
      }
    }
    for (std::size_t p = 0; p < may_be_.size(); ++p) {
      if (may_be_[p] != 0 && circuit_.loom->parts[p].positions.size() < 2 && commanded[p] == 0) rule_out(p);
    }
  }

  const Circuit& circuit_;
  CircuitGraph graph_;
  std::vector<char> firm_;    // by node
  std::vector<char> may_be_;  // by part
  std::vector<int> feeder_;   // by node: a part that feeds it, -1 where none does
  std::vector<int> up_;       // by part
};

}  // namespace

Accessories accessories_of(const Circuit& circuit) {
  return Sorting(circuit).result();
}

}  // namespace loomproof
