// Which situations there are, and every one of them settled.
#include "solve/situations.h"

#include <algorithm>
#include <future>
#include <map>
#include <optional>
#include <set>
#include <thread>

#include <fmt/format.h>

#include "solve/circuit_graph.h"
#include "solve/network.h"

namespace loomproof {
namespace {

using Positions = std::vector<std::int8_t>;

// Parts whose position moves something of the network.
std::vector<std::size_t> operated_parts(const Loom& loom) {
  std::vector<std::size_t> out;
  for (std::size_t p = 0; p < loom.parts.size(); ++p) {
    if (loom.parts[p].positions.size() > 1) out.push_back(p);
  }
  return out;
}

std::size_t count_states(const Loom& loom, const std::vector<std::size_t>& operated) {
  std::size_t n = 1;
  for (std::size_t p : operated) {
    n *= loom.parts[p].positions.size();
    if (n > (std::size_t{1} << 40)) return n;  // enough to know that it is too many
  }
  return n;
}

std::vector<Positions> all_states(const Loom& loom, const std::vector<std::size_t>& operated) {
  std::vector<Positions> states;
  Positions now(loom.parts.size(), 0);
  while (true) {
    states.push_back(now);
    std::size_t i = 0;
    for (; i < operated.size(); ++i) {
      const std::size_t p = operated[i];
      if (++now[p] < static_cast<int>(loom.parts[p].positions.size())) break;
      now[p] = 0;
    }
    if (i == operated.size()) return states;
  }
}

// Rest and each duty's own switches, with every single and every pair of moves from there.
std::vector<Positions> near_states(const Loom& loom, const std::vector<std::size_t>& operated) {
  std::set<Positions> bases;
  Positions rest(loom.parts.size(), 0);
  bases.insert(rest);
  for (const DutyPoint& duty : loom.duty) {
    Positions base = rest;
    for (const auto& [part, position] : duty.with) base[part.value] = static_cast<std::int8_t>(position);
    bases.insert(base);
  }
  std::set<Positions> states = bases;
  for (const Positions& base : bases) {
    for (std::size_t i = 0; i < operated.size(); ++i) {
      for (std::size_t a = 0; a < loom.parts[operated[i]].positions.size(); ++a) {
        Positions one = base;
        one[operated[i]] = static_cast<std::int8_t>(a);
        states.insert(one);
        for (std::size_t j = 0; j < i; ++j) {
          for (std::size_t b = 0; b < loom.parts[operated[j]].positions.size(); ++b) {
            Positions two = one;
            two[operated[j]] = static_cast<std::int8_t>(b);
            states.insert(two);
          }
        }
      }
    }
  }
  return {states.begin(), states.end()};
}

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

// Names a position of the part itself.
bool moves_by_hand(const Condition& c) {
  return c.op == Condition::Op::position || std::any_of(c.of.begin(), c.of.end(), moves_by_hand);
}

bool allows(const DutyPoint& duty, const Positions& positions) {
  return std::all_of(duty.with.begin(), duty.with.end(),
                     [&](const auto& fixed) { return positions[fixed.first.value] == fixed.second; });
}

// States that differ only in switches that decide nothing, the first of them to be settled from rest.
using Family = std::vector<Positions>;

std::vector<Family> families(const Circuit& circuit, const std::vector<std::size_t>& operated,
                             std::vector<Positions> states) {
  const std::vector<char> decides = deciding_parts(circuit);
  std::map<Positions, Family> by_deciding;
  for (Positions& state : states) {
    Positions key = state;
    for (std::size_t p : operated) {
      if (decides[p] == 0) key[p] = 0;
    }
    by_deciding[key].push_back(std::move(state));
  }
  std::vector<Family> out;
  for (auto& [key, family] : by_deciding) out.push_back(std::move(family));
  return out;
}

struct Settled {
  std::vector<OperatingPoint> points, troubled;
};

void settle_family(Network& network, const Loom& loom, const Family& family, Settled& out) {
  std::vector<DutyIndex> duties;
  for (Charge charge : {Charge::full, Charge::empty}) {
    std::optional<OperatingPoint> like;
    for (const Positions& positions : family) {
      duties.clear();
      for (std::size_t d = 0; d < loom.duty.size(); ++d) {
        if (allows(loom.duty[d], positions)) duties.push_back(DutyIndex{d});
      }
      auto points = network.settle_with({positions, charge, std::nullopt}, duties, like ? &*like : nullptr);
      if (!like && family.size() > 1) like = points.front();
      for (OperatingPoint& point : points) {
        (point.trouble.empty() ? out.points : out.troubled).push_back(std::move(point));
      }
    }
  }
}

// Families are settled each by itself, so that the result does not depend on how many threads share them out.
std::vector<Settled> settle_families(const Circuit& circuit, const std::vector<Family>& all) {
  const unsigned cores = std::max(1u, std::thread::hardware_concurrency());
  const std::size_t workers = std::min<std::size_t>(cores, all.size() / 8 + 1);
  std::vector<Settled> out(all.size());
  const auto work = [&](std::size_t first) {
    Network network(circuit);
    for (std::size_t i = first; i < all.size(); i += workers) settle_family(network, *circuit.loom, all[i], out[i]);
  };
  std::vector<std::future<void>> others;
  for (std::size_t w = 1; w < workers; ++w) others.push_back(std::async(std::launch::async, work, w));
  work(0);
  for (auto& other : others) other.get();
  return out;
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

Situations settle_all(const Circuit& circuit) {
  const Loom& loom = *circuit.loom;
  const std::vector<std::size_t> operated = operated_parts(loom);
  Situations out;
  const std::size_t states = count_states(loom, operated);
  const bool exhaustive = states <= most_switch_states;
  std::vector<Positions> walked = exhaustive ? all_states(loom, operated) : near_states(loom, operated);
  out.possible = states * 2;
  out.covered = walked.size() * 2;
  if (!exhaustive) {
    out.left_out = fmt::format(
        "{} switches make {} switch states, more than {}; walked: rest, the duty points' own switches, and one or two "
        "moves from these",
        operated.size(), states, most_switch_states);
  }
  out.duty_reached.assign(loom.duty.size(), false);
  for (Settled& settled : settle_families(circuit, families(circuit, operated, std::move(walked)))) {
    for (OperatingPoint& point : settled.points) {
      if (point.situation.duty) out.duty_reached[point.situation.duty->value] = true;
      out.points.push_back(std::move(point));
    }
    for (OperatingPoint& point : settled.troubled) {
      if (point.situation.duty) out.duty_reached[point.situation.duty->value] = true;
      out.troubled.push_back(std::move(point));
    }
  }
  return out;
}

}  // namespace loomproof
