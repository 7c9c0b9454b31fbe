// Which switches decide something, and which only feed consumers.
#include <algorithm>

#include "solve/circuit_graph.h"
#include "solve/opened.h"
#include "solve/situations.h"

namespace loomproof {
namespace {

// Terminals whose voltage decides something: coils, inputs, conditions, converters, sources, sensors, the drive.
std::vector<char> deciding_nodes(const Circuit& circuit) {
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
  for (const Coil& c : all.coils) mark(c.a), mark(c.b);
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

}  // namespace

std::vector<char> deciding_parts(const Circuit& circuit) {
  const Loom& loom = *circuit.loom;
  const std::vector<char> decides_node = deciding_nodes(circuit);
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
    const auto depends = [&](const auto& list, auto condition) {
      for (const auto& e : list) {
        if (e.part.value == p && moves_by_hand(e.*condition)) decides[p] = 1;
      }
    };
    depends(loom.elements.sources, &Source::when);
    depends(loom.elements.converters, &Converter::when);
    depends(loom.elements.outputs, &Output::when);
    for (const Divider& d : loom.elements.dividers) {
      if (d.part.value == p) decides[p] = 1;
    }
  }
  return decides;
}

}  // namespace loomproof
