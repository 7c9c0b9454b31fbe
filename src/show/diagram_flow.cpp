// Which way energy goes: how far each terminal lies from its source, and the main way from pack to controller.
#include "show/diagram_flow.h"

#include <algorithm>
#include <deque>
#include <limits>
#include <optional>
#include <set>
#include <tuple>

namespace loomproof::diagram {
namespace {

struct Step {
  TerminalIndex to;
  double size_mm2;  // infinite inside a part
};

using Ways = std::vector<std::vector<Step>>;

constexpr double inside_a_part = std::numeric_limits<double>::infinity();

void join(Ways& ways, TerminalIndex a, TerminalIndex b, double size_mm2) {
  ways[a.value].push_back({b, size_mm2});
  ways[b.value].push_back({a, size_mm2});
}

std::size_t wired_terminals(const Loom& loom, PartIndex part, const std::vector<bool>& wired) {
  std::size_t count = 0;
  for (const TerminalIndex t : loom.part(part).terminals) count += wired[t.value] ? 1 : 0;
  return count;
}

Ways ways_of(const Loom& loom) {
  Ways ways(loom.terminals.size());
  std::vector<bool> wired(loom.terminals.size(), false);
  for (const Wire& wire : loom.wires) {
    wired[wire.from.value] = wired[wire.to.value] = true;
    join(ways, wire.from, wire.to, wire.size ? wire.size->value.value : 0);
  }
  const Elements& all = loom.elements;
  for (const Contact& e : all.contacts) join(ways, e.a, e.b, inside_a_part);
  for (const Fuse& e : all.fuses) join(ways, e.a, e.b, inside_a_part);
  for (const Diode& e : all.diodes) ways[e.anode.value].push_back({e.cathode, inside_a_part});
  for (const Converter& e : all.converters) ways[e.in_pos.value].push_back({e.out_pos, inside_a_part});
  // A resistor is a way only where it is the whole part: a bleed or a pull-down inside a controller leads nowhere.
  for (const Resistance& e : all.resistances) {
    if (wired_terminals(loom, e.part, wired) <= 2) join(ways, e.a, e.b, inside_a_part);
  }
  for (const Part& part : loom.parts) {
    if (!loom.kind_of(part).any_terminal || part.terminals.empty()) continue;
    if (loom.kind_of(part).is_frame) continue;  // the frame is a return, not a way for energy
    for (const TerminalIndex t : part.terminals) join(ways, part.terminals.front(), t, inside_a_part);
  }
  return ways;
}

std::vector<int> depths_from(const Ways& ways, const std::vector<TerminalIndex>& starts) {
  std::vector<int> depth(ways.size(), far_away);
  std::deque<TerminalIndex> queue;
  for (const TerminalIndex t : starts) {
    depth[t.value] = 0;
    queue.push_back(t);
  }
  while (!queue.empty()) {
    const TerminalIndex at = queue.front();
    queue.pop_front();
    for (const Step& step : ways[at.value]) {
      if (depth[step.to.value] != far_away) continue;
      depth[step.to.value] = depth[at.value] + 1;
      queue.push_back(step.to);
    }
  }
  return depth;
}

/// The way from `start` to a terminal in `ends` whose thinnest wire is thickest; among equals the shortest.
std::vector<TerminalIndex> widest_way(const Ways& ways, TerminalIndex start, const std::set<TerminalIndex>& ends) {
  struct Reached {
    double width = -1;
    int steps = 0;
    TerminalIndex from;
  };
  std::vector<Reached> best(ways.size());
  using Entry = std::tuple<double, int, std::size_t>;  // -width, steps, terminal
  std::set<Entry> open{{-inside_a_part, 0, start.value}};
  best[start.value] = {inside_a_part, 0, start};
  std::vector<bool> done(ways.size(), false);
  while (!open.empty()) {
    const auto [negative_width, steps, at] = *open.begin();
    open.erase(open.begin());
    if (done[at]) continue;
    done[at] = true;
    if (ends.contains(TerminalIndex{at})) {
      std::vector<TerminalIndex> way{TerminalIndex{at}};
      while (way.back() != start) way.push_back(best[way.back().value].from);
      std::reverse(way.begin(), way.end());
      return way;
    }
    for (const Step& step : ways[at]) {
      const double width = std::min(-negative_width, step.size_mm2);
      Reached& there = best[step.to.value];
      const bool better = width > there.width || (width == there.width && steps + 1 < there.steps);
      if (done[step.to.value] || !better) continue;
      there = {width, steps + 1, TerminalIndex{at}};
      open.insert({-width, steps + 1, step.to.value});
    }
  }
  return {};
}

std::vector<PartIndex> parts_along(const Loom& loom, const std::vector<TerminalIndex>& way) {
  std::vector<PartIndex> parts;
  for (const TerminalIndex t : way) {
    const PartIndex part = loom.terminal(t).part;
    if (std::find(parts.begin(), parts.end(), part) == parts.end()) parts.push_back(part);
  }
  return parts;
}

/// The bus terminals of everything that feeds a motor: where its load and its capacitors sit.
void collect_bus(const Loom& loom, std::set<TerminalIndex>& pos, std::set<TerminalIndex>& neg) {
  std::set<PartIndex> drives;
  for (const Lead& lead : loom.elements.leads) {
    if (lead.gives) drives.insert(lead.part);
  }
  for (const Load& load : loom.elements.loads) {
    if (!drives.contains(load.part)) continue;
    pos.insert(load.pos);
    neg.insert(load.neg);
  }
}

}  // namespace

Flow find_flow(const Loom& loom) {
  Flow flow;
  const Ways ways = ways_of(loom);
  std::vector<TerminalIndex> traction, other;
  const Source* main_source = nullptr;
  for (const Source& source : loom.elements.sources) {
    const bool is_store = source.sinks && source.pos.value < ways.size();
    if (source.zone == Zone::traction && is_store) {
      traction.push_back(source.pos);
      if (!main_source) main_source = &source;
    } else if (is_store) {
      other.push_back(source.pos);
    }
  }
  flow.depth = depths_from(ways, traction.empty() ? other : traction);
  // What only a battery of the 12 V side or a sensor's supply reaches counts from there.
  for (const Source& source : loom.elements.sources) {
    if (flow.depth[source.pos.value] == far_away) other.push_back(source.pos);
  }
  const std::vector<int> second = depths_from(ways, other);
  for (std::size_t i = 0; i < second.size(); ++i) {
    if (flow.depth[i] == far_away) flow.depth[i] = second[i];
  }
  if (!main_source) return flow;

  std::set<TerminalIndex> bus_pos, bus_neg;
  collect_bus(loom, bus_pos, bus_neg);
  // A pack with taps is several sources in a row: its outer poles are the widest ones that are wired.
  TerminalIndex pole_pos = main_source->pos, pole_neg = main_source->neg;
  for (const TerminalIndex t : loom.part(main_source->part).terminals) {
    if (loom.terminal(t).name == "pos") pole_pos = t;
    if (loom.terminal(t).name == "neg") pole_neg = t;
  }
  flow.main_way = parts_along(loom, widest_way(ways, pole_pos, bus_pos));
  flow.return_way = parts_along(loom, widest_way(ways, pole_neg, bus_neg));
  return flow;
}

}  // namespace loomproof::diagram
