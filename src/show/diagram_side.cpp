// On which side of its block a terminal belongs.
#include "show/diagram_side.h"

#include <algorithm>

namespace loomproof::diagram {

bool goes_left(const Context& c, TerminalIndex t) {
  int incoming = 0, outgoing = 0;
  for (const Use& use : c.uses[t.value]) {
    if (c.is_frame(use.other)) {
      ++outgoing;
      continue;
    }
    const int here = c.flow.depth[t.value], there = c.flow.depth[use.other.value];
    if (here == far_away || there == far_away) continue;
    if (there < here) ++incoming;
    if (there > here) ++outgoing;
  }
  if (incoming != outgoing) return incoming > outgoing;
  if (c.lead_side[t.value] != 0) return c.lead_side[t.value] < 0;
  // Decided by the terminals that go to the same part.
  int votes = 0;
  for (const Use& use : c.uses[t.value]) {
    const Part& part = c.loom.part(c.loom.terminal(t).part);
    for (const TerminalIndex mate : part.terminals) {
      for (const Use& other : c.uses[mate.value]) {
        if (c.loom.terminal(other.other).part != c.loom.terminal(use.other).part) continue;
        const int here = c.flow.depth[mate.value], there = c.flow.depth[other.other.value];
        if (c.lead_side[mate.value] != 0) votes += c.lead_side[mate.value];
        if (here != far_away && there != far_away) votes += there > here ? 1 : there < here ? -1 : 0;
      }
    }
  }
  return votes <= 0;
}

bool enters(const Context& c, TerminalIndex t, const Use& use) {
  const int here = c.flow.depth[t.value], there = c.flow.depth[use.other.value];
  if (here != far_away && there != far_away && here != there) return there < here;
  const bool from_pack = !c.flow.main_way.empty() && c.loom.terminal(use.other).part == c.flow.main_way.front();
  return from_pack;  // on the return side the pack stands left of everything
}

bool ends_at_frame(const Context& c, TerminalIndex t) {
  const std::vector<Use>& uses = c.uses[t.value];
  return !uses.empty() && std::all_of(uses.begin(), uses.end(), [&](const Use& u) { return c.is_frame(u.other); });
}

}  // namespace loomproof::diagram
