// Contacts that put a source across a capacitance, and what precharges it first.
#include "solve/closing.h"

#include <algorithm>

#include "solve/supply.h"

namespace loomproof {
namespace {

// Resistors that may serve to precharge: above what counts as a conductor, below what would take for ever.
constexpr double most_precharge_ohm = 20e3;

bool is_operated(const Circuit& circuit, const Branch& b) {
  return b.type == BranchType::contact && circuit.loom->elements.contacts[b.index].operated;
}

double ohm_of(const Circuit& circuit, const std::vector<std::size_t>& walk) {
  double ohm = 0;
  for (std::size_t i : walk) ohm += circuit.branches[i].ohm;
  return ohm;
}

bool has_coil(const Condition& c) {
  return c.op == Condition::Op::coil || std::any_of(c.of.begin(), c.of.end(), has_coil);
}

// Whether it can be the one that closes the way: open in some point where all the others are closed. Contacts whose
// coils come on together are never seen one without the other; with `but_for_coils` those others do not count.
bool closes_last(const Circuit& circuit, const Branch& contact, const std::vector<std::size_t>& there,
                 const std::vector<std::size_t>& back, const std::vector<OperatingPoint>& points, bool but_for_coils) {
  std::vector<std::size_t> others;
  for (const auto* way : {&there, &back}) {
    for (std::size_t i : *way) {
      const Branch& b = circuit.branches[i];
      if (b.type != BranchType::contact || b.index == contact.index) continue;
      if (but_for_coils && has_coil(circuit.loom->elements.contacts[b.index].closed_when)) continue;
      others.push_back(b.index);
    }
  }
  return std::any_of(points.begin(), points.end(), [&](const OperatingPoint& p) {
    return p.logic.contact_closed[contact.index] == 0 &&
           std::all_of(others.begin(), others.end(), [&](std::size_t c) { return p.logic.contact_closed[c] != 0; });
  });
}

// Only a supply that gives its current unlimited can weld a contact.
bool strong(const Circuit& circuit, const SupplyPoles& supply, bool& known) {
  known = true;
  bool is_source = false;
  for (const Source& s : circuit.loom->elements.sources) {
    if (s.part != supply.part || circuit.node(s.pos) == circuit.node(s.neg)) continue;
    if (s.limit_a) continue;
    is_source = true;
    if (!s.ohm) known = false;
  }
  return is_source;
}

double inner_ohm(const Circuit& circuit, const SupplyPoles& supply) {
  double ohm = 0;
  for (const Branch& b : circuit.branches) {
    if (b.type == BranchType::source && circuit.loom->elements.sources[b.index].part == supply.part) ohm += b.ohm;
  }
  return ohm;
}

}  // namespace

std::vector<Closing> closings(const Circuit& circuit, const CircuitGraph& graph,
                              const std::vector<OperatingPoint>& points) {
  std::vector<Closing> out;
  const Elements& all = circuit.loom->elements;
  for (const SupplyPoles& supply : supply_poles(circuit)) {
    Closing closing;
    if (!strong(circuit, supply, closing.source_known)) continue;
    closing.supply = supply.part;
    closing.source_v = supply.full_v;
    for (std::size_t k = 0; k < all.capacitances.size(); ++k) {
      const int pos = circuit.node(all.capacitances[k].a);
      const int neg = circuit.node(all.capacitances[k].b);
      if (circuit.island_of[pos] != circuit.island_of[supply.pos]) continue;
      const BranchFilter closed = [&](const Branch& b) { return is_conductor(circuit, b); };
      const auto there = walk_between(graph, circuit, supply.pos, pos, closed);
      const auto back = walk_between(graph, circuit, neg, supply.neg, closed);
      if ((there.empty() && supply.pos != pos) || (back.empty() && supply.neg != neg)) continue;
      closing.capacitance = k;
      closing.loop_ohm = inner_ohm(circuit, supply) + ohm_of(circuit, there) + ohm_of(circuit, back);
      std::vector<Closing> surely, together;
      for (const auto* way : {&there, &back}) {
        for (std::size_t i : *way) {
          const Branch& contact = circuit.branches[i];
          if (!is_operated(circuit, contact)) continue;
          const bool last = closes_last(circuit, contact, there, back, points, false);
          const bool one_of = has_coil(all.contacts[contact.index].closed_when) &&
                              closes_last(circuit, contact, there, back, points, true);
          if (!last && !one_of) continue;
          // Closing it counts only when nothing else of low resistance bridges it already.
          const BranchFilter without = [&](const Branch& b) { return &b != &contact && is_conductor(circuit, b); };
          const int from = way == &there ? supply.pos : neg;
          const int to = way == &there ? pos : supply.neg;
          if (from == to || !walk_between(graph, circuit, from, to, without).empty()) continue;
          const BranchFilter through_resistors = [&](const Branch& b) {
            if (&b == &contact) return false;
            return is_conductor(circuit, b) || (b.type == BranchType::resistance && b.ohm <= most_precharge_ohm);
          };
          const auto around = walk_between(graph, circuit, from, to, through_resistors);
          closing.contact = contact.index;
          closing.precharge_ohm = around.empty() ? std::nullopt : std::optional(ohm_of(circuit, around));
          closing.around = around;
          (last ? surely : together).push_back(closing);
        }
      }
      // Of contacts that come on together the one with a resistor around it is meant to be the last.
      const auto has_resistor = [](const Closing& c) { return c.precharge_ohm.has_value(); };
      const auto meant = std::find_if(together.begin(), together.end(), has_resistor);
      if (meant != together.end() && std::none_of(surely.begin(), surely.end(), has_resistor)) {
        surely.push_back(*meant);
      } else if (surely.empty() && !together.empty()) {
        surely.push_back(together.back());
      }
      out.insert(out.end(), surely.begin(), surely.end());
    }
  }
  return out;
}

}  // namespace loomproof
