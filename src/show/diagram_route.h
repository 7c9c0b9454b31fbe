// How the wires run: each a line of its own along the grid, never on top of another, with its text in a free slot.
#pragma once

#include "show/diagram_sheet.h"

namespace loomproof::diagram {

/// Sets `path` and `label` of every run; blocks must be placed. Main way first, then short before long, then rounds of
/// taking up each line and laying it again among the others.
/// @param rounds  of laying again
void route_runs(Sheet&, int rounds);

struct Tidiness {
  int crowded = 0;  // texts without a free slot, or lines that share a stretch
  int crossings = 0;
  int corners = 0;
  int length = 0;  // cells of line in all
};
Tidiness tidiness_of(const Sheet&);

}  // namespace loomproof::diagram
