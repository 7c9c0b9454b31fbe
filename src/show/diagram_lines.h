// The look of a wire's line: tint and pattern tell the zone, weight tells the size.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "model/element.h"
#include "model/loom.h"
#include "show/diagram_sheet.h"
#include "show/diagram_symbols.h"

namespace loomproof::diagram {

struct ZoneLook {
  std::string_view name, tint, casing, shade, pattern;  // casing: a dark edge on both sides of the line; may be empty
};
const ZoneLook& look_of(Zone);

/// Points; grows with the square root of the section (so with the wire's diameter) and never shrinks with it.
double line_width(const std::optional<Placed<SquareMillimetre>>& size);

/// The same with the dark edges that the zone's lines have.
double full_width(Zone, double line_width);

/// The run's corners in points, from block to block.
std::vector<Point> corners_of(const Frame&, const Sheet&, const Run&);

/// The same as cubic Bezier pieces with rounded corners: 3 n + 1 points.
std::vector<Point> spline_of(const std::vector<Point>& corners);

/// The middle of the text `T1 35 RD` of a run.
Point text_place(const Frame&, const Sheet&, const Run&, double line_width);

/// The place on the line, after the text, of the `index`-th marker.
Point marker_place(const Frame&, const Sheet&, const Run&, int index);

}  // namespace loomproof::diagram
