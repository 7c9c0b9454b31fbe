// The sheet under the diagram: a grid of cells on which blocks stand and wires run. Only the writer knows points.
#pragma once

#include <algorithm>
#include <optional>
#include <string>
#include <vector>

#include "model/element.h"
#include "model/index.h"

namespace loomproof::diagram {

inline constexpr double cell_pt = 9;  // pitch of parallel lines
inline constexpr double text_pt = 8;  // of every text on the sheet: what prints a little of it prints all of it

inline constexpr double strip_pt = 46;            // along the lower edge: legend and title block
inline constexpr double paper_margin_pt = 28.35;  // 10 mm

struct Paper {                                   // landscape, points
  double width_pt = 841.89, height_pt = 595.28;  // ISO 216 A4
};

inline constexpr Paper a3_paper{1190.55, 841.89};

/// Cells that a text needs.
int cells_for(const std::string& text, bool bold = false);

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

/// Where the other end of a wire lies: at another block, at the frame by an earth mark right here, or on another sheet,
/// which a tag names.
enum class Ending { block, earth, tag };

inline constexpr std::size_t nobody = static_cast<std::size_t>(-1);

/// Where one wire's end meets a block: on its left or right border, in a row counted from the block's top.
struct Port {
  TerminalIndex terminal;
  std::optional<WireIndex> wire = {};  // none: a terminal that no wire uses
  bool on_left = true;
  int row = 0;
  int rows = 1;         // a thick wire needs two, or the text of one stands in the next
  bool pinned = false;  // its row is part of the main way
  Ending ending = Ending::block;
  int stub_cells = 0;        // earth or tag: length of that wire, border to mark; its text stands over it
  int mark_cells = 0;        // the mark and its text, beyond the stub
  std::string mark = {};     // text at the mark
  std::size_t run = nobody;  // the sheet's run that ends here
};

struct Block {
  std::optional<PartIndex> part;  // none: a bonding strap between two points of the frame
  Figure figure = Figure::box;
  std::string name, what;  // first and second line of text
  int width = 0, height = 0;
  int axis = 0;                // row of the symbol's line (of the first of them)
  int what_row = 0;            // symbols: row of the second line of text
  int second_axis = 0;         // contact: row of the coil; two-pole switch: row of the second blade; else 0
  bool closed = false;         // switch, contact: the first line at rest,
  bool second_closed = false;  // and the second
  std::vector<int> pin_rows;   // plug: rows with a mated pair
  std::vector<Port> ports;
  int x = 0, y = 0;
  bool fixed = false;
  bool may_flip = false;  // which side is left is free
  Zone zone = Zone::none;
  int markers = 0;        // findings about the part: discs in rows above it
  bool upper = false;     // stands in the traction region
  bool anywhere = false;  // or in either

  bool wide_markers = false;  // numbers of three digits
  double marker_cells() const { return wide_markers ? 2 : 1.45; }
  int markers_a_row() const { return std::max(1, static_cast<int>((width + 1) / marker_cells())); }
  /// Rows of cells above the block that its markers take.
  int marker_rows() const { return markers == 0 ? 0 : (3 * ((markers - 1) / markers_a_row() + 1) + 1) / 2; }

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
  bool beside = false;        // the text stands beside a vertical stretch,
  bool before = false;        // and on its left
  bool crowded = false;       // no free slot was found, or two lines share a stretch
};

struct Sheet {
  Paper paper;
  double scale = 1;  // of the print: text_pt times this stands on paper
  int columns = 0, rows = 0;
  int upper_rows = 0;  // rows of the traction region
  std::vector<Block> blocks;
  std::vector<Run> runs;
  std::vector<std::size_t> spine, return_spine;  // blocks on the way from pack to controller, and back
  std::vector<Box> zone_names;                   // cells of their texts: neither lines nor blocks
  std::vector<Box> corridors;                    // kept free for the lines of those ways
};

}  // namespace loomproof::diagram
