// The symbols of the trade (shapes of IEC 60617), drawn into a block's body.
#pragma once

#include <vector>

#include "show/diagram_ink.h"
#include "show/diagram_sheet.h"

namespace loomproof::diagram {

/// Turns cells into points: the sheet's top left cell centre lies at `origin`.
struct Frame {
  Point origin;
  Point at(double cell_x, double cell_y) const { return {origin.x + cell_x * cell_pt, origin.y - cell_y * cell_pt}; }
};

/// The half cell by which a body's edge lies outside its first cell's centre.
inline constexpr double half = 0.5;

/// Where a wire's line ends on its block.
Point line_end(const Frame&, const Block&, const Port&);

/// The symbol itself; `wire_width` gives the pen of the lead at a port.
void draw_symbol(Ink&, const Frame&, const Block&);

/// Three bars across the end of a line: joined to the frame right here.
/// @param out  -1 the line comes from the right, +1 from the left
void draw_earth(Ink&, Point at, int out);

/// The flag at the end of a line that goes on on another sheet; its text stands inside.
/// @param length  points, the tip included
void draw_tag(Ink&, Point at, double length, int out);

/// The band behind a line that carries the current of the finding in question.
/// @param curve  Bezier pieces, or two points of a straight line
void draw_band(Ink&, const std::vector<Point>& curve, double line_width);

/// True where the block is a plain box (a node with a border), false where the symbol is all there is to see.
bool has_border(const Block&);

}  // namespace loomproof::diagram
