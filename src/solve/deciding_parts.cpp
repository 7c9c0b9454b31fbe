// Which switches decide something, and which only feed consumers.
#include "solve/deciding_parts.h"

#include <algorithm>

#include "solve/circuit_graph.h"
#include "solve/opened.h"

namespace loomproof {

std::vector<char> deciding_nodes(const Circuit& circuit, const std::function<bool(const Coil&)>& passes) {
  const Elements& all = circuit.loom->elements;
  std::vector<char> decides(circuit.nodes, 0);
  const auto mark = [&](TerminalIndex t) { decides[circuit.node(t)] = 1; };
  const auto mark_condition = [&](const auto& self, const Condition& c) -> void {
    if (c.op == Condition::Op::powered) {
      mark(c.pos);
      mark(c.neg);
    }
    for (const Condition& child : c.of) self(self, child);
  };
  for (const Coil& c : all.coils) {
    if (passes(c)) mark(c.a), mark(c.b);
  }
  for (const Input& i : all.inputs) mark(i.terminal), mark(i.reference);
  for (const Divider& d : all.dividers) mark(d.top), mark(d.tap), mark(d.bottom);
  for (const Source& s : all.sources) mark(s.pos), mark(s.neg), mark_condition(mark_condition, s.when);
  for (const Converter& c : all.converters) {
    for (TerminalIndex t : {c.in_pos, c.in_neg, c.out_pos, c.out_neg}) mark(t);
    mark_condition(mark_condition, c.when);
  }
  for (const Contact& c : all.contacts) mark_condition(mark_condition, c.closed_when);
  for (const Output& o : all.outputs) mark_condition(mark_condition, o.when);
  for (const Load& l : all.loads) {
    if (!l.channel.empty()) mark(l.pos), mark(l.neg);
  }
  return decides;
}

bool commands_itself(const Circuit& circuit, std::size_t part) {
  const Elements& all = circuit.loom->elements;
  const auto any = [&](const auto& list, auto condition) {
    return std::any_of(list.begin(), list.end(),
                       [&](const auto& e) { return e.part.value == part && moves_by_hand(e.*condition); });
  };
  return any(all.sources, &Source::when) || any(all.converters, &Converter::when) || any(all.outputs, &Output::when) ||
         std::any_of(all.dividers.begin(), all.dividers.end(), [&](const Divider& d) { return d.part.value == part; });
}

std::vector<char> deciding_parts(const Circuit& circuit) {
  const Loom& loom = *circuit.loom;
  const std::vector<char> decides_node = deciding_nodes(circuit, [](const Coil&) { return true; });
  const CircuitGraph graph = graph_of(circuit);
  std::vector<char> decides(loom.parts.size(), 0);
  for (std::size_t p = 0; p < loom.parts.size(); ++p) {
    if (loom.parts[p].positions.size() < 2) continue;
    const BranchFilter without = [&](const Branch& b) {
      if (b.type == BranchType::contact && loom.elements.contacts[b.index].part.value == p) return false;
      return is_conductor(circuit, b);
    };
    const std::vector<int> piece = components(graph, circuit, without);
    std::vector<char> piece_decides(piece.size(), 0);
    for (int n = 0; n < circuit.nodes; ++n) piece_decides[piece[n]] |= decides_node[n];
    for (const Branch& b : circuit.branches) {
      if (b.type != BranchType::contact || loom.elements.contacts[b.index].part.value != p) continue;
      // One side that feeds consumers only: opening and closing it moves nothing but their currents.
      if (piece_decides[piece[b.a]] != 0 && piece_decides[piece[b.b]] != 0) decides[p] = 1;
    }
    if (commands_itself(circuit, p)) decides[p] = 1;
  }
  return decides;
}

}  // namespace loomproof
