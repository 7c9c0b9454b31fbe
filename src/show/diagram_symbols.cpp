// The symbols of the trade (shapes of IEC 60617), drawn into a block's body.
#include "show/diagram_symbols.h"

#include <algorithm>
#include <cmath>

namespace loomproof::diagram {
namespace {

constexpr std::string_view black = "#1a1a1a";
constexpr std::string_view white = "#ffffff";
constexpr double pen_pt = 1.1;
constexpr double lead_pt = 1.3;

struct Axis {  // one line through a symbol, left border to right border
  Point left, right;
  Point middle() const { return {(left.x + right.x) / 2, left.y}; }
};

Axis axis_of(const Frame& frame, const Block& b, int row) {
  return {frame.at(b.x - half, b.y + row), frame.at(b.x + b.width - half, b.y + row)};
}

void leads(Ink& ink, const Axis& axis, double gap_left, double gap_right) {
  const Point m = axis.middle();
  ink.pen(black, lead_pt);
  ink.line({axis.left, {m.x - gap_left, m.y}});
  ink.line({{m.x + gap_right, m.y}, axis.right});
}

void fuse(Ink& ink, const Axis& axis) {
  leads(ink, axis, 0, 0);
  ink.pen(black, pen_pt);
  ink.fill(white);
  ink.box(axis.middle(), 20, 7, true);
  ink.line({{axis.middle().x - 10, axis.left.y}, {axis.middle().x + 10, axis.left.y}});
}

void resistor(Ink& ink, const Axis& axis) {
  leads(ink, axis, 10, 10);
  ink.pen(black, pen_pt);
  ink.fill(white);
  ink.box(axis.middle(), 20, 7, true);
}

void diode(Ink& ink, const Axis& axis, bool forward) {
  leads(ink, axis, 4, 4);
  const Point m = axis.middle();
  const double s = forward ? 4 : -4;
  ink.pen(black, pen_pt);
  ink.fill(black);
  ink.shape({{m.x - s, m.y - 4}, {m.x - s, m.y + 4}, {m.x + s, m.y}}, true);
  ink.line({{m.x + s, m.y - 4}, {m.x + s, m.y + 4}});
}

void capacitor(Ink& ink, const Axis& axis) {
  leads(ink, axis, 2, 2);
  const Point m = axis.middle();
  ink.pen(black, 1.6);
  ink.line({{m.x - 2, m.y - 5}, {m.x - 2, m.y + 5}});
  ink.line({{m.x + 2, m.y - 5}, {m.x + 2, m.y + 5}});
}

void lamp(Ink& ink, const Axis& axis) {
  constexpr double radius = 5, arm = 3.54;
  leads(ink, axis, radius, radius);
  const Point m = axis.middle();
  ink.pen(black, pen_pt);
  ink.fill(white);
  ink.circle(m, radius, true);
  ink.line({{m.x - arm, m.y - arm}, {m.x + arm, m.y + arm}});
  ink.line({{m.x - arm, m.y + arm}, {m.x + arm, m.y - arm}});
}

/// A make contact open, a break contact closed: its blade lies against a stop at the fixed contact.
void blade(Ink& ink, const Axis& axis, bool closed) {
  leads(ink, axis, 9, 9);
  const Point m = axis.middle();
  ink.pen(black, lead_pt);
  ink.line({{m.x - 9, m.y}, closed ? Point{m.x + 12, m.y + 4.1} : Point{m.x + 8, m.y + 6.5}});
  if (closed) ink.line({{m.x + 9, m.y}, {m.x + 9, m.y + 3.5}});
  ink.fill(white);
  ink.circle({m.x - 9, m.y}, 1.3, true);
  ink.circle({m.x + 9, m.y}, 1.3, true);
}

void breaker(Ink& ink, const Axis& axis) {
  blade(ink, axis, false);
  const Point m = axis.middle();
  ink.pen(black, pen_pt);
  ink.line({{m.x + 7, m.y - 2}, {m.x + 11, m.y + 2}});
  ink.line({{m.x + 7, m.y + 2}, {m.x + 11, m.y - 2}});
}

void coil(Ink& ink, const Axis& axis, const Axis& contact) {
  leads(ink, axis, 9, 9);
  const Point m = axis.middle();
  ink.pen(black, pen_pt);
  ink.fill(white);
  ink.box(m, 18, 8, true);
  ink.line({{m.x - 3, m.y - 4}, {m.x + 3, m.y + 4}});
  ink.pen(black, 0.7, "dashed");
  ink.line({{m.x, m.y + 4}, {m.x, contact.left.y + 3}});
}

void battery(Ink& ink, Point m) {
  ink.pen(black, pen_pt);
  for (int cell = -1; cell <= 1; ++cell) {
    const double x = m.x + 7.0 * cell;
    ink.pen(black, 0.9);
    ink.line({{x - 1.5, m.y - 7}, {x - 1.5, m.y + 7}});
    ink.pen(black, 2);
    ink.line({{x + 1.5, m.y - 3.5}, {x + 1.5, m.y + 3.5}});
  }
}

void motor(Ink& ink, Point m) {
  ink.pen(black, pen_pt);
  ink.circle(m, 9, false);
  ink.text({m.x - 3.8, m.y - 0.5}, "M", 9, true);
  ink.line({{m.x - 5, m.y - 4.5}, {m.x + 5, m.y - 4.5}});
  ink.curve({{m.x - 4, m.y - 6.5}, {m.x - 2, m.y - 3.5}, {m.x + 2, m.y - 9.5}, {m.x + 4, m.y - 6.5}});
}

void converter(Ink& ink, Point m) {
  ink.pen(black, pen_pt);
  ink.box(m, 20, 16, false);
  ink.line({{m.x - 10, m.y - 8}, {m.x + 10, m.y + 8}});
  for (const double s : {-1.0, 1.0}) {
    const Point c{m.x + 5 * s, m.y - 4 * s};
    ink.line({{c.x - 3, c.y + 1}, {c.x + 3, c.y + 1}});
    ink.line({{c.x - 3, c.y - 1.2}, {c.x + 3, c.y - 1.2}});
  }
}

/// Pin and socket of every mated pair on a line of its own between their names.
void plug(Ink& ink, const Frame& frame, const Block& b) {
  for (const int row : b.pin_rows) {
    const Axis axis = axis_of(frame, b, row);
    const Point m = axis.middle();
    ink.pen(black, lead_pt);
    ink.line({{m.x - 9, m.y}, {m.x + 1, m.y}});
    ink.line({{m.x + 4, m.y}, {m.x + 10, m.y}});
    ink.line({{m.x - 3, m.y + 3}, {m.x + 1, m.y}, {m.x - 3, m.y - 3}});
    ink.line({{m.x, m.y + 3}, {m.x + 4, m.y}, {m.x, m.y - 3}});
  }
}

void splice(Ink& ink, const Frame& frame, const Block& b) {
  int first = b.height, last = 0;
  for (const Port& port : b.ports) first = std::min(first, port.row), last = std::max(last, port.row);
  if (b.ports.empty()) return;
  const Point top = axis_of(frame, b, first).middle(), bottom = axis_of(frame, b, last).middle();
  ink.pen(black, 2.4);
  if (first != last) ink.line({top, bottom});
  ink.pen(black, 0.5);
  ink.fill(black);
  for (const Port& port : b.ports) ink.circle(axis_of(frame, b, port.row).middle(), 2.2, true);
}

}  // namespace

bool has_border(const Block& b) {
  return b.figure == Figure::box || b.figure == Figure::battery || b.figure == Figure::motor ||
         b.figure == Figure::converter || b.figure == Figure::plug;
}

Point line_end(const Frame& frame, const Block& b, const Port& port) {
  if (b.figure == Figure::splice) return axis_of(frame, b, port.row).middle();
  return frame.at(port.on_left ? b.x - half : b.x + b.width - half, b.y + port.row);
}

void draw_earth(Ink& ink, Point at, int out) {
  ink.pen(black, 1.4);
  for (int bar = 0; bar < 3; ++bar) {
    const double x = at.x + out * 2.2 * bar, reach = 4.2 - 1.4 * bar;
    ink.line({{x, at.y - reach}, {x, at.y + reach}});
  }
}

void draw_tag(Ink& ink, Point at, double length, int out) {
  constexpr double high = 4.6, slant = 5;
  const double end = at.x + out * length, shoulder = end - out * slant;
  ink.pen(black, 0.9);
  ink.fill(white);
  ink.shape({{at.x, at.y - high}, {shoulder, at.y - high}, {end, at.y}, {shoulder, at.y + high}, {at.x, at.y + high}},
            true);
}

void draw_band(Ink& ink, const std::vector<Point>& curve, double line_width) {
  // Two strokes, so that the band has an edge that also shows in black and white.
  for (const bool inner : {false, true}) {
    ink.pen(inner ? "#ffe566" : black, line_width + (inner ? 7.5 : 9));
    if (curve.size() == 2) {
      ink.line(curve);
    } else {
      ink.curve(curve);
    }
  }
}

void draw_symbol(Ink& ink, const Frame& frame, const Block& b) {
  const Axis axis = axis_of(frame, b, b.axis);
  // The mark of a box stands between the names of its terminals, or on the side that has none.
  const auto on_left = std::count_if(b.ports.begin(), b.ports.end(), [](const Port& p) { return p.on_left; });
  const bool all_left = on_left == static_cast<std::ptrdiff_t>(b.ports.size());
  const double mark_x = on_left == 0 ? 1.5 : all_left ? b.width - 2.5 : (b.width - 1) / 2.0;
  const int top = b.axis;
  const Point mark = frame.at(b.x + mark_x, b.y + top + std::min(1.5, (b.height - top) / 2.0 - half));
  switch (b.figure) {
    case Figure::fuse:
      return fuse(ink, axis);
    case Figure::breaker:
      return breaker(ink, axis);
    case Figure::resistor:
      return resistor(ink, axis);
    case Figure::diode: {
      const bool anode_left = std::any_of(b.ports.begin(), b.ports.end(), [&](const Port& p) {
        return p.on_left &&
               p.terminal == std::min_element(b.ports.begin(), b.ports.end(), [](const Port& l, const Port& r) {
                               return l.terminal < r.terminal;
                             })->terminal;
      });
      return diode(ink, axis, anode_left);
    }
    case Figure::capacitor:
      return capacitor(ink, axis);
    case Figure::lamp:
      return lamp(ink, axis);
    case Figure::blade:
      blade(ink, axis, b.closed);
      if (b.second_axis > 0) blade(ink, axis_of(frame, b, b.second_axis), b.second_closed);
      return;
    case Figure::contact:
      blade(ink, axis, b.closed);
      return coil(ink, axis_of(frame, b, b.second_axis), axis);
    case Figure::battery:
      return battery(ink, mark);
    case Figure::motor:
      return motor(ink, mark);
    case Figure::converter:
      return converter(ink, mark);
    case Figure::plug:
      return plug(ink, frame, b);
    case Figure::splice:
      return splice(ink, frame, b);
    case Figure::box:
    case Figure::strap:
      return;
  }
}

}  // namespace loomproof::diagram
