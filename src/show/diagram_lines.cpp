// The look of a wire's line: tint and pattern tell the zone, weight tells the size.
#include "show/diagram_lines.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "show/diagram_route.h"
#include "show/text_width.h"

namespace loomproof::diagram {

const ZoneLook& look_of(Zone zone) {
  static constexpr std::array<ZoneLook, 4> looks{{
      {"no source", "#5c5c5c", "", "#f4f4f4", "dotted"},
      {"signal", "#1c7040", "", "#eaf3ec", "dashed"},
      {"low voltage", "#1d5794", "", "#f4f7fb", "solid"},
      {"traction", "#ff8f4d", "#5a1e00", "#f9ece3", "solid"},
  }};
  return looks[static_cast<std::size_t>(zone)];
}

double full_width(Zone zone, double width) {
  return look_of(zone).casing.empty() ? width : width * 1.15 + 0.9;
}

double line_width(const std::optional<Placed<SquareMillimetre>>& size) {
  const double mm2 = size ? std::clamp(size->value.value, 0.0, 120.0) : 0;
  return 0.7 + 0.52 * std::sqrt(mm2);
}

std::vector<Point> corners_of(const Frame& frame, const Sheet& sheet, const Run& run) {
  const Block &a = sheet.blocks[run.block_a], &b = sheet.blocks[run.block_b];
  const Port &from = a.ports[run.port_a], &to = b.ports[run.port_b];
  std::vector<Point> points{line_end(frame, a, from)};
  if (is_stub(sheet, run) && a.figure != Figure::strap) {
    const double reach = from.stub_cells * cell_pt;
    points.push_back({points[0].x + (from.on_left ? -reach : reach), points[0].y});
    return points;
  }
  if (a.figure == Figure::strap) return {line_end(frame, a, from), line_end(frame, b, to)};
  for (const Cell& cell : run.path) points.push_back(frame.at(cell.x, cell.y));
  points.push_back(line_end(frame, b, to));
  // The outside cells lie in line with the border: drop what is no corner.
  std::vector<Point> corners;
  for (const Point& p : points) {
    if (corners.size() >= 2) {
      const Point &u = corners[corners.size() - 2], &v = corners.back();
      const bool straight = (std::abs(u.x - v.x) < 0.01 && std::abs(v.x - p.x) < 0.01) ||
                            (std::abs(u.y - v.y) < 0.01 && std::abs(v.y - p.y) < 0.01);
      if (straight) corners.pop_back();
    }
    corners.push_back(p);
  }
  return corners;
}

std::vector<Point> spline_of(const std::vector<Point>& corners) {
  const auto towards = [](const Point& from, const Point& to, double by) {
    const double length = std::hypot(to.x - from.x, to.y - from.y);
    const double share = length > 0 ? std::min(by / length, 0.5) : 0;
    return Point{from.x + (to.x - from.x) * share, from.y + (to.y - from.y) * share};
  };
  constexpr double radius = 3.5;
  constexpr double handle = 0.56 * radius;  // of a quarter circle
  std::vector<Point> out{corners.front()};
  for (std::size_t i = 1; i < corners.size(); ++i) {
    const bool last = i + 1 == corners.size();
    const Point before = last ? corners[i] : towards(corners[i], corners[i - 1], radius);
    const Point at = out.back();
    out.insert(out.end(), {at, before, before});
    if (last) break;
    const Point after = towards(corners[i], corners[i + 1], radius);
    out.insert(out.end(), {towards(before, corners[i], handle), towards(after, corners[i], handle), after});
  }
  return out;
}

namespace {

double slot_width(const Run& run) {
  return (run.text_cells - 2 * run.markers) * cell_pt;
}

/// Left end of the text's slot, on the line.
Point slot_of(const Frame& frame, const Sheet& sheet, const Run& run) {
  if (is_stub(sheet, run) || !run.label) {
    const std::vector<Point> corners = corners_of(frame, sheet, run);
    const double left = std::min(corners[0].x, corners[1].x), right = std::max(corners[0].x, corners[1].x);
    return {left + std::max(0.0, (right - left - run.text_cells * cell_pt) / 2), corners[0].y};
  }
  return frame.at(run.label->x - half, run.label->y);
}

/// Where the upright line runs that a text stands beside.
double upright_of(const Run& run, const Point& slot) {
  return run.before ? slot.x + (run.text_cells + half) * cell_pt : slot.x - half * cell_pt;
}

}  // namespace

Point text_place(const Frame& frame, const Sheet& sheet, const Run& run, double width) {
  const Point slot = slot_of(frame, sheet, run);
  if (run.beside && !is_stub(sheet, run)) {
    // The slot is a whole number of cells; the text keeps close to its line, or to the markers on it.
    const double text = text_width_pt(run.text, text_pt),
                 to_line = (run.markers > 0 ? 8 : 2.2) + full_width(run.zone, width) / 2;
    const double line = upright_of(run, slot);
    return {line + (run.before ? -1 : 1) * (to_line + text / 2), slot.y + half * cell_pt};
  }
  return {slot.x + slot_width(run) / 2, slot.y + 0.39 * text_pt + full_width(run.zone, width) / 2};
}

Point marker_place(const Frame& frame, const Sheet& sheet, const Run& run, int index) {
  const Point slot = slot_of(frame, sheet, run);
  if (run.beside && !is_stub(sheet, run)) return {upright_of(run, slot), slot.y + half * cell_pt - 12.5 * index};
  return {slot.x + slot_width(run) + (1 + 1.4 * index) * cell_pt, slot.y};
}

}  // namespace loomproof::diagram
