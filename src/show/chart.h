// A chart as one piece of SVG: axes with ticks that a person would choose, bands, lines, marks. Colours come from the
// page by class name; every line also has its own dash and its own letter, so that no meaning rests on colour.
#pragma once

#include <string>
#include <vector>

namespace loomproof::chart {

struct Point {
  double x = 0, y = 0;
};

struct Axis {
  std::string title;
  double low = 0, high = 1;  // low < high; above zero where `log`
  bool log = false;
};

struct Tick {
  double at = 0;
  std::string text;  // empty: a minor one
};

/// Linear: multiples of 1, 2 or 5 times a power of ten, from three to eight of them. Log: every decade with text,
/// 2 and 5 between; these have text too where fewer than three decades are shown.
std::vector<Tick> ticks_of(const Axis&);

/// The axis widened to the ticks that enclose what it spans.
Axis rounded(Axis);

/// The number as an axis shows it: no exponent, no trailing zero, no more digits than its step needs.
std::string tick_text(double value, double step);

struct Line {
  std::vector<Point> points;
  int look = 0;        // colour and dash, 0..5; more start again
  std::string letter;  // drawn on the line; empty: none
  std::string name;    // in the key
};

/// Between two edges given by points of ascending x each.
struct Band {
  std::vector<Point> lower, upper;
  std::string name;
};

/// A straight mark through the plot at one value of an axis.
struct Mark {
  double at = 0;
  bool vertical = true;
  int look = 0;
  std::string text;  // short; stands at the mark
};

struct Chart {
  std::string title;  // what it shows, for who cannot see it
  Axis x, y;
  std::vector<Band> bands;
  std::vector<Line> lines;
  std::vector<Mark> marks;
};

/// The chart, 460 x 320 units, scaled by its container. Every text in it is escaped here.
std::string svg_of(const Chart&);

/// The key below it, an HTML list: swatch, letter, name. Empty where nothing has a name.
std::string key_of(const Chart&);

}  // namespace loomproof::chart
