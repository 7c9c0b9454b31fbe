// Where the blocks stand: the main way in one straight line, everything else by annealing on the sheet's grid.
#pragma once

#include <cstdint>

#include "show/diagram_sheet.h"

namespace loomproof::diagram {

/// Sets the sheet's grid and every block's place. Blocks never overlap. The print is as large as the paper allows.
/// @param seed  of the search; same seed, same sheet
void place_blocks(Sheet&, std::uint32_t seed);

}  // namespace loomproof::diagram
