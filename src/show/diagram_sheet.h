// The sheet under the diagram: a grid of cells on which blocks stand and wires run. Only the writer knows points.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "model/element.h"
#include "model/index.h"

namespace loomproof::diagram {

inline constexpr double cell_pt = 9;  // pitch of parallel lines
inline constexpr double wire_text_pt = 7.5;
inline constexpr double name_text_pt = 8;
inline constexpr double small_text_pt = 6.8;

/// Cells that a text needs, from the mean advance of a wide sans-serif face (0.6 em).
int cells_for(const std::string& text, double size_pt);

struct Cell {
  int x = 0;
  int y = 0;  // downwards
  friend bool operator==(const Cell&, const Cell&) = default;
};

struct Box {  // cells x .. x + width - 1, y .. y + height - 1
  int x = 0, y = 0, width = 0, height = 0;
};

/// How a block is drawn. `box` is a plain box; the others are symbols of the trade (IEC 60617 shapes).
enum class Figure {
  box,
  fuse,
  breaker,
  resistor,
  diode,
  capacitor,
  lamp,
  blade,
  contact,
  battery,
  motor,
  converter,
  plug,
  splice,
  strap
};

/// Where one wire's end meets a block: on its left or right border, in a row counted from the block's top.
struct Port {
  TerminalIndex terminal;
  std::optional<WireIndex> wire = {};  // none: a terminal that no wire uses
  bool on_left = true;
  int row = 0;
  bool earth = false;     // the wire ends right here in an earth mark
  int stub_cells = 0;     // length of that wire, border to mark; the text stands over its end
  std::string stud = {};  // text at the mark
};

struct Block {
  std::optional<PartIndex> part;  // none: a bonding strap between two points of the frame
  Figure figure = Figure::box;
  std::string name, what;  // first and second line of text
  int width = 0, height = 0;
  int axis = 0;               // row of the symbol's line (of the first of them)
  int second_axis = 0;        // contact: row of the coil; two-pole switch: row of the second blade; else 0
  std::vector<int> pin_rows;  // plug: rows with a mated pair
  std::vector<Port> ports;
  int x = 0, y = 0;
  bool fixed = false;
  bool may_flip = false;  // which side is left is free
  bool upper = false;     // stands in the traction region

  Cell at(const Port& port) const { return {port.on_left ? x : x + width - 1, y + port.row}; }
  /// The first cell outside the border.
  Cell outside(const Port& port) const { return {port.on_left ? x - 1 : x + width, y + port.row}; }
};

/// One wire between two ports and, once routed, its corner points from border to border.
struct Run {
  WireIndex wire;
  std::size_t block_a = 0, port_a = 0, block_b = 0, port_b = 0;
  Zone zone = Zone::none;
  double weight = 1;   // how much it matters that it is short and straight
  int flow = 0;        // +1 energy goes a to b, -1 b to a, 0 unknown or both
  std::string text;    // number, size, colour code
  int text_cells = 0;  // with room for the markers of findings after the text
  int markers = 0;
  bool heavy = false;         // so wide that its text reaches into the row above
  std::vector<Cell> path;     // every corner, the two outside cells first and last
  std::optional<Cell> label;  // left end of the text's slot; the slot lies between row y - 1 and row y
  bool beside = false;        // the text stands beside a vertical stretch
  bool crowded = false;       // no free slot was found, or two lines share a stretch
};

struct Sheet {
  int columns = 0, rows = 0;
  int upper_rows = 0;  // rows of the traction region
  std::vector<Block> blocks;
  std::vector<Run> runs;
  std::vector<std::size_t> spine, return_spine;  // blocks on the way from pack to controller, and back
  std::vector<Box> corridors;                    // kept free for the lines of those ways
};

}  // namespace loomproof::diagram
