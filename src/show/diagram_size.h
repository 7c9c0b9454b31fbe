// How large the sheet is, and the main way from pack to motor laid straight across it.
#pragma once

#include "show/diagram_sheet.h"

namespace loomproof::diagram {

/// One try: the print's scale, and free cells per used cell.
struct Fit {
  double scale = 1, looseness = 1.5;
};

inline constexpr double smallest_scale = 0.76;  // prints 8 pt as 6.08 pt

/// From large print with much room to small print with little: the order in which sizes are tried.
std::vector<Fit> fits_to_try();

/// Columns and rows that the paper holds at a scale.
void set_grid(Sheet&, double scale);

/// Sets the grid, the regions, and the blocks of the main way and the return way.
/// @return false when the blocks or the way do not fit
bool size_sheet(Sheet&, const Fit&);

/// A block's claim on the sheet, counted from its own corner: its body with the margin where its wires leave, and its
/// stubs.
std::vector<Box> claim_of(const Block&);

/// Cells of that claim.
int claimed_area(const Block&);

}  // namespace loomproof::diagram
