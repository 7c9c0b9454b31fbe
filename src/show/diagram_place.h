// Where the blocks stand: the main way in one straight line, everything else by annealing on an A4-shaped grid.
#pragma once

#include <cstdint>

#include "show/diagram_sheet.h"

namespace loomproof::diagram {

/// Sets the sheet's size and every block's place. Blocks never overlap.
/// @param looseness  free cells per used cell; more gives the wires more room and makes the print smaller
/// @param seed       of the search; same seed, same sheet
void place_blocks(Sheet&, double looseness, std::uint32_t seed);

/// A block's claim on the sheet: its body with the margin where its wires leave, and its earth stubs.
std::vector<Box> claim_of(const Block&);

}  // namespace loomproof::diagram
