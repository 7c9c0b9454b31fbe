// Contacts that put a source across a capacitance, and what precharges it first.
#include "solve/closing.h"

#include <algorithm>

#include "solve/source_network.h"
#include "solve/supply_rows.h"

namespace loomproof {
namespace {

// Resistors that may serve to precharge: above what counts as a conductor, below what would take for ever.
constexpr double most_precharge_ohm = 20e3;

bool is_operated(const Circuit& circuit, const Branch& b) {
  return b.type == BranchType::contact && circuit.loom->elements.contacts[b.index].operated;
}

// As a surge meets it: nothing has warmed up before the contact closes.
double ohm_of(const Circuit& circuit, const std::vector<std::size_t>& walk) {
  double ohm = 0;
  for (std::size_t i : walk) {
    const Branch& b = circuit.branches[i];
    ohm += b.type == BranchType::wire ? fault_ohm(circuit, b, {}) : b.ohm;
  }
  return ohm;
}

bool has_coil(const Condition& c) {
  return c.op == Condition::Op::coil || std::any_of(c.of.begin(), c.of.end(), has_coil);
}

// A stretch of conductors between two nodes of the loop of source and capacitance.
struct Way {
  int from = 0, to = 0;
  std::vector<std::size_t> branches;
};

// Whether it can be the one that closes the way: open in some point where all the others are closed. Contacts whose
// coils come on together are never seen one without the other; with `but_for_coils` those others do not count.
bool closes_last(const Circuit& circuit, const Branch& contact, const std::vector<Way>& loop,
                 const std::vector<OperatingPoint>& points, bool but_for_coils) {
  std::vector<std::size_t> others;
  for (const Way& way : loop) {
    for (std::size_t i : way.branches) {
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
bool strong(const Circuit& circuit, const SupplyRow& supply, bool& known) {
  known = true;
  for (const PartIndex part : supply.parts) {
    bool is_source = false;
    for (const Source& s : circuit.loom->elements.sources) {
      if (s.part != part || circuit.node(s.pos) == circuit.node(s.neg)) continue;
      if (s.limit_a) continue;
      is_source = true;
      if (!s.ohm) known = false;
    }
    if (!is_source) return false;
  }
  return true;
}

double inner_ohm(const Circuit& circuit, const SupplyRow& supply) {
  double ohm = 0;
  for (const Branch& b : circuit.branches) {
    if (b.type != BranchType::source) continue;
    const PartIndex part = circuit.loom->elements.sources[b.index].part;
    if (std::find(supply.parts.begin(), supply.parts.end(), part) != supply.parts.end()) ohm += b.ohm;
  }
  return ohm;
}

// The conductors that the loop of supply and capacitance runs through: out, back, between packs in series; empty where
// one of them is missing.
std::vector<Way> loop_of(const Circuit& circuit, const CircuitGraph& graph, const SupplyRow& supply, int pos, int neg) {
  std::vector<Way> loop{{supply.pos, pos, {}}, {neg, supply.neg, {}}};
  for (const auto& [above, below] : supply.links) loop.push_back({above, below, {}});
  for (Way& way : loop) {
    way.branches =
        walk_between(graph, circuit, way.from, way.to, [&](const Branch& b) { return is_conductor(circuit, b); });
    if (way.branches.empty() && way.from != way.to) return {};
  }
  return loop;
}

// Contacts of one loop that may be the last to close it.
struct Candidates {
  std::vector<Closing> surely, together;

  void add(const Circuit& circuit, const CircuitGraph& graph, Closing closing, const Way& way, const Branch& contact,
           bool last) {
    // Closing it counts only when nothing else of low resistance bridges it already.
    const BranchFilter without = [&](const Branch& b) { return &b != &contact && is_conductor(circuit, b); };
    if (way.from == way.to || !walk_between(graph, circuit, way.from, way.to, without).empty()) return;
    const BranchFilter through_resistors = [&](const Branch& b) {
      if (&b == &contact) return false;
      return is_conductor(circuit, b) || (b.type == BranchType::resistance && b.ohm <= most_precharge_ohm);
    };
    closing.around = walk_between(graph, circuit, way.from, way.to, through_resistors);
    closing.contact = contact.index;
    if (!closing.around.empty()) closing.precharge_ohm = ohm_of(circuit, closing.around);
    (last ? surely : together).push_back(std::move(closing));
  }

  // Of contacts that come on together the one with a resistor around it is meant to be the last.
  std::vector<Closing> chosen() && {
    const auto has_resistor = [](const Closing& c) { return c.precharge_ohm.has_value(); };
    const auto meant = std::find_if(together.begin(), together.end(), has_resistor);
    if (meant != together.end() && std::none_of(surely.begin(), surely.end(), has_resistor)) {
      surely.push_back(*meant);
    } else if (surely.empty() && !together.empty()) {
      surely.push_back(together.back());
    }
    return std::move(surely);
  }
};

}  // namespace

std::vector<Closing> closings(const Circuit& circuit, const CircuitGraph& graph,
                              const std::vector<OperatingPoint>& points) {
  std::vector<Closing> out;
  const Elements& all = circuit.loom->elements;
  for (const SupplyRow& supply : supply_rows(circuit, points)) {
    Closing closing;
    if (!strong(circuit, supply, closing.source_known)) continue;
    closing.supplies = supply.parts;
    closing.source_v = supply.full_v;
    for (std::size_t k = 0; k < all.capacitances.size(); ++k) {
      const int pos = circuit.node(all.capacitances[k].a);
      const int neg = circuit.node(all.capacitances[k].b);
      if (circuit.island_of[pos] != circuit.island_of[supply.pos]) continue;
      const std::vector<Way> loop = loop_of(circuit, graph, supply, pos, neg);
      if (loop.empty()) continue;
      closing.capacitance = k;
      closing.loop_ohm = inner_ohm(circuit, supply);
      closing.links.clear();
      for (const Way& way : loop) {
        closing.loop_ohm += ohm_of(circuit, way.branches);
        if (&way - loop.data() > 1) closing.links.insert(closing.links.end(), way.branches.begin(), way.branches.end());
      }
      Candidates candidates;
      for (const Way& way : loop) {
        for (std::size_t i : way.branches) {
          const Branch& contact = circuit.branches[i];
          if (!is_operated(circuit, contact)) continue;
          const bool last = closes_last(circuit, contact, loop, points, false);
          const bool one_of =
              has_coil(all.contacts[contact.index].closed_when) && closes_last(circuit, contact, loop, points, true);
          if (last || one_of) candidates.add(circuit, graph, closing, way, contact, last);
        }
      }
      const std::vector<Closing> chosen = std::move(candidates).chosen();
      out.insert(out.end(), chosen.begin(), chosen.end());
    }
  }
  return out;
}

}  // namespace loomproof
