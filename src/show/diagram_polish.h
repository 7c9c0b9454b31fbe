// The last hand on a sheet that is placed and routed: small moves, kept when the lines themselves get better.
#pragma once

#include <cstdint>

#include "show/diagram_route.h"
#include "show/diagram_sheet.h"

namespace loomproof::diagram {

/// Moves and turns blocks and exchanges ports; each change is judged by laying the lines anew around it.
/// @param tries  how many changes are tried
void polish(Sheet&, Router&, int tries, std::uint32_t seed);

/// Sum of what all runs cost.
long cost_of_sheet(const Sheet&, const Router&);

}  // namespace loomproof::diagram
