// The states that the walk starts from: settled without a fault, reached by single switch moves.
#include "solve/fault_tables.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "solve/light.h"
#include "solve/switch_states.h"

namespace loomproof {
namespace {

// Every combination, each one switch move from the one before.
std::vector<Positions> every_state(const Loom& loom, const Parts& parts) {
  std::vector<Positions> out{Positions(loom.parts.size(), 0)};
  for (std::size_t p : parts) {
    const std::size_t had = out.size();
    for (std::size_t k = 1; k < loom.parts[p].positions.size(); ++k) {
      for (std::size_t i = 0; i < had; ++i) {
        Positions next = out[k % 2 == 1 ? had - 1 - i : i];
        next[p] = static_cast<std::int8_t>(k);
        out.push_back(std::move(next));
      }
    }
  }
  return out;
}

// Rest, the duty points' own switches, and one or two moves from these.
std::vector<Positions> near_positions(const Loom& loom, const Parts& parts) {
  std::vector<Positions> bases{Positions(loom.parts.size(), 0)};
  for (const DutyPoint& duty : loom.duty) {
    Positions base(loom.parts.size(), 0);
    for (const auto& [part, position] : duty.with) base[part.value] = static_cast<std::int8_t>(position);
    bases.push_back(base);
  }
  std::vector<Positions> out;
  std::map<Positions, bool> had;
  const auto add = [&](const Positions& p) {
    if (had.emplace(p, true).second) out.push_back(p);
  };
  for (const Positions& base : bases) {
    add(base);
    for (std::size_t i : parts) {
      for (std::size_t k = 0; k < loom.parts[i].positions.size(); ++k) {
        Positions one = base;
        one[i] = static_cast<std::int8_t>(k);
        add(one);
        for (std::size_t j : parts) {
          if (j >= i) break;
          for (std::size_t m = 0; m < loom.parts[j].positions.size(); ++m) {
            Positions two = one;
            two[j] = static_cast<std::int8_t>(m);
            add(two);
          }
        }
      }
    }
  }
  return out;
}

}  // namespace

// What a person sees: torque there or not, each light dark, glowing or shining.
void observe(const Circuit& circuit, const OperatingPoint& point, std::vector<std::uint8_t>& out) {
  const Elements& all = circuit.loom->elements;
  out.clear();
  for (std::size_t i = 0; i < all.outputs.size(); ++i) {
    if (all.outputs[i].name == "torque") out.push_back(point.logic.output_on[i]);
  }
  for (const Load& l : all.loads) {
    if (!l.light) continue;
    const int a = circuit.node(l.pos), b = circuit.node(l.neg);
    const double v = point.piece[a] == point.piece[b] ? std::fabs(point.node_v[a] - point.node_v[b]) : 0;
    const double share = v / rated_volts(l);
    out.push_back(share >= shines_from ? 2 : share >= glows_from ? 1 : 0);
  }
}

std::size_t moved_switches(const Positions& p) {
  return static_cast<std::size_t>(std::count_if(p.begin(), p.end(), [](std::int8_t k) { return k != 0; }));
}

// Breadth first along single switch moves, and every switch state from rest; without a fault.
Table explore(FaultNetwork& network, const Parts& parts) {
  const Loom& loom = *network.circuit().loom;
  Table table;
  table.parts = parts;
  table.whole = count_states(loom, parts) <= most_walked_states;
  const std::vector<Positions> order = table.whole ? every_state(loom, parts) : near_positions(loom, parts);
  std::map<Positions, std::size_t> place;
  for (std::size_t i = 0; i < order.size(); ++i) place.emplace(order[i], i);
  struct Reached {
    BaseState state;
    std::vector<double> node_v;
    std::vector<int> piece;
  };
  for (Charge charge : {Charge::full, Charge::empty}) {
    std::vector<std::vector<Reached>> reached(order.size());
    std::vector<std::pair<std::size_t, std::size_t>> queue;
    const auto keep = [&](std::size_t at, const OperatingPoint& point, const BaseState* from) {
      if (!point.trouble.empty()) return;
      for (const Reached& r : reached[at]) {
        if (r.state.logic == point.logic) return;
      }
      Reached r;
      r.state.situation = {order[at], charge, std::nullopt};
      r.state.logic = point.logic;
      r.state.modes = network.modes();
      observe(network.circuit(), point, r.state.seen);
      r.node_v = point.node_v;
      r.piece = point.piece;
      r.state.first = reached[at].empty();
      if (from != nullptr && !r.state.first)
        r.state.came_from = std::make_shared<const Step>(Step{from->situation.positions, from->came_from});
      queue.emplace_back(at, reached[at].size());
      reached[at].push_back(std::move(r));
    };
    for (std::size_t i = 0; i < order.size(); ++i)
      keep(i, network.settle_from_rest({order[i], charge, std::nullopt}), nullptr);
    for (std::size_t q = 0; q < queue.size(); ++q) {
      const auto [at, which] = queue[q];
      const Reached from = reached[at][which];
      for (std::size_t p : parts) {
        for (std::size_t k = 0; k < loom.parts[p].positions.size(); ++k) {
          if (from.state.situation.positions[p] == static_cast<std::int8_t>(k)) continue;
          Positions to = from.state.situation.positions;
          to[p] = static_cast<std::int8_t>(k);
          const auto found = place.find(to);
          if (found == place.end()) continue;
          keep(found->second,
               network.settle_from({to, charge, std::nullopt}, from.state.logic, from.state.modes, from.node_v,
                                   from.piece),
               &from.state);
        }
      }
    }
    for (auto& list : reached) {
      for (Reached& r : list) {
        table.states.push_back(std::move(r.state));
      }
    }
  }
  return table;
}

History history_of(const BaseState& state) {
  History out;
  if (state.first) return out;
  out.push_back(state.situation.positions);
  for (const Step* s = state.came_from.get(); s != nullptr; s = s->before.get()) out.push_back(s->positions);
  std::reverse(out.begin(), out.end());
  return out;
}

std::optional<BaseState> settled_from(FaultNetwork& network, const BaseState& state) {
  const OperatingPoint& point = network.settle_from(state.situation, state.base->logic, state.base->modes);
  if (!point.trouble.empty()) return std::nullopt;
  BaseState out = state;
  out.base = nullptr;
  out.logic = point.logic;
  out.modes = network.modes();
  observe(network.circuit(), point, out.seen);
  return out;
}

Table wider(const Loom& loom, const Table& base, const Parts& more) {
  Table out;
  out.parts = base.parts;
  out.parts.insert(out.parts.end(), more.begin(), more.end());
  out.whole = base.whole && count_states(loom, out.parts) <= most_walked_states;
  return out;
}

void fill(FaultNetwork& network, const Table& base, Table& wide,
          const std::function<bool(const Positions&)>& is_needed) {
  const Loom& loom = *network.circuit().loom;
  const Parts more(wide.parts.begin() + static_cast<std::ptrdiff_t>(base.parts.size()), wide.parts.end());
  const std::vector<Positions> extra = wide.whole ? every_state(loom, more) : near_positions(loom, more);
  wide.states.clear();
  for (const BaseState& state : base.states) {
    for (const Positions& besides : extra) {
      BaseState next;
      next.situation = state.situation;
      for (std::size_t p : more) next.situation.positions[p] = besides[p];
      next.first = state.first;
      next.came_from = state.came_from;
      next.base = &state;
      if (!is_needed(next.situation.positions)) {
        wide.states.push_back(std::move(next));
      } else if (auto settled = settled_from(network, next)) {
        wide.states.push_back(std::move(*settled));
      }
    }
  }
}

}  // namespace loomproof
