// Which way energy goes: how far each terminal lies from its source, and the main way from pack to controller.
#pragma once

#include <vector>

#include "model/loom.h"

namespace loomproof::diagram {

inline constexpr int far_away = 1 << 20;

struct Flow {
  std::vector<int> depth;  // by terminal: steps from the nearest source's positive pole; far_away when not reached
  std::vector<PartIndex> main_way;    // pack first, controller last; empty when there is none
  std::vector<PartIndex> return_way;  // the same ends, by the negative side
};

/// Walks wires and the parts' own conducting elements. The main way is the one whose thinnest wire is thickest.
Flow find_flow(const Loom&);

}  // namespace loomproof::diagram
