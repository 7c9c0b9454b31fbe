// The shape of one block: which symbol, which side and row each terminal has, how large it is.
#include "show/diagram_shape.h"

#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "show/diagram_rest.h"
#include "show/diagram_side.h"
#include "show/dot_escape.h"
#include "show/text_width.h"

namespace loomproof::diagram {
namespace {

/// @return the next free row
int put_wire(const Context& c, Block& block, TerminalIndex t, const Use& use, bool on_left, int row) {
  Port port{t, use.wire, on_left, row};
  port.rows = is_heavy(c.loom.wire(use.wire)) ? 2 : 1;
  if (c.is_frame(use.other)) {
    port.ending = Ending::earth;
    port.mark = shortened(c.loom.terminal(use.other).name, 10);
    port.mark_cells = 1 + cells_for(port.mark);
  } else if (c.sheet_of(use.other) != c.pick.sheet) {
    port.ending = Ending::tag;
    port.mark = fmt::format("{}: {}", c.sheet_of(use.other), shortened(c.loom.title(use.other), 20));
    port.mark_cells = 2 + cells_for(port.mark);
  }
  if (port.ending != Ending::block) {
    port.stub_cells = cells_for(wire_text(c.loom.wire(use.wire))) + 1 + 2 * c.markers(use.wire);
  }
  block.ports.push_back(port);
  return row + port.rows;
}

/// Rows of one terminal: one for each wire, so that no two lines ever leave from the same point.
int put_terminal(const Context& c, Block& block, TerminalIndex t, bool on_left, int row) {
  if (c.uses[t.value].empty()) {
    block.ports.push_back({t, std::nullopt, on_left, row});
    return row + 1;
  }
  for (const Use& use : c.uses[t.value]) row = put_wire(c, block, t, use, on_left, row);
  return row;
}

int text_width(const Block& block) {
  return std::max(cells_for(block.name, true), cells_for(block.what));
}

/// Width of what stands under a symbol's line: the names of both poles, and the value between them.
double under_line_pt(const Context& c, const Block& block) {
  double left = 0, right = 0;
  for (const Port& port : block.ports) {
    double& side = port.on_left ? left : right;
    side = std::max(side, text_width_pt(shortened(c.loom.terminal(port.terminal).name, 16), text_pt) + 5);
  }
  return left + right + text_width_pt(block.what, text_pt);
}

/// Two poles in one line (fuse, lamp, switch, ...), or two such lines above each other (contact and coil).
void lay_inline(const Context& c, Block& block, const std::vector<TerminalIndex>& poles) {
  block.axis = 1;
  int below = block.axis;
  for (std::size_t pair = 0; pair + 1 < poles.size(); pair += 2) {
    const int row = pair == 0 ? block.axis : below + 1;
    if (pair == 2) block.second_axis = row;
    TerminalIndex left = poles[pair], right = poles[pair + 1];
    (pair == 0 ? block.closed : block.second_closed) = closed_at_rest(c.loom, left, right);
    const int depth_left = c.flow.depth[left.value], depth_right = c.flow.depth[right.value];
    if (depth_right < depth_left || (ends_at_frame(c, left) && !ends_at_frame(c, right))) std::swap(left, right);
    put_terminal(c, block, left, true, row);
    put_terminal(c, block, right, false, row);
    for (const Port& port : block.ports) below = std::max(below, port.row + 1);
  }
  const bool two = poles.size() > 2;
  block.width = std::max(two ? 8 : 5, text_width(block));
  const int needed = static_cast<int>(std::ceil(under_line_pt(c, block) / cell_pt));
  if (!two && !block.what.empty() && needed <= std::max(7, block.width)) block.width = std::max(block.width, needed);
  // A value that finds no room between the names of the poles stands a row lower.
  const bool lower = !block.what.empty() && (two || needed > block.width);
  const int last_line = two ? block.second_axis : block.axis;
  block.what_row = last_line + (lower ? 2 : 1);
  block.height = std::max(below, block.what_row + 1);
}

void lay_splice(const Context& c, Block& block, const std::vector<TerminalIndex>& all) {
  struct Entry {
    TerminalIndex terminal;
    Use use;
    double size_mm2;
  };
  std::vector<Entry> entries;
  for (const TerminalIndex t : all) {
    for (const Use& use : c.uses[t.value]) {
      const auto& size = c.loom.wire(use.wire).size;
      entries.push_back({t, use, size ? size->value.value : 0});
    }
  }
  std::stable_sort(entries.begin(), entries.end(),
                   [](const Entry& l, const Entry& r) { return l.size_mm2 > r.size_mm2; });
  block.axis = 1;
  int left = block.axis, right = block.axis;
  for (const Entry& entry : entries) {
    const bool on_left = enters(c, entry.terminal, entry.use);
    int& row = on_left ? left : right;
    row = put_wire(c, block, entry.terminal, entry.use, on_left, row);
  }
  block.width = std::max(1, cells_for(block.name));
  block.height = std::max({left, right, 2});
}

/// Pins of a plug and socket: `p3` and `s3` share a row.
void lay_plug(const Context& c, Block& block, const std::vector<TerminalIndex>& all) {
  std::map<int, std::vector<TerminalIndex>> pins;
  for (const TerminalIndex t : all) {
    const std::string& name = c.loom.terminal(t).name;
    int number = 0;
    for (std::size_t i = 1; i < name.size() && i < 8; ++i) {
      if (name[i] >= '0' && name[i] <= '9') number = number * 10 + (name[i] - '0');
    }
    pins[number].push_back(t);
  }
  int left_is_plug = 0;
  for (const TerminalIndex t : all) {
    const bool plug = c.loom.terminal(t).name.starts_with('p');
    left_is_plug += goes_left(c, t) == plug ? 1 : -1;
  }
  block.axis = 1;
  int row = block.axis;
  for (const auto& [number, terminals] : pins) {
    block.pin_rows.push_back(row);
    int end = row + 1;
    for (const TerminalIndex t : terminals) {
      const bool plug = c.loom.terminal(t).name.starts_with('p');
      end = std::max(end, put_terminal(c, block, t, plug == (left_is_plug >= 0), row));
    }
    row = end;
  }
  block.width = std::max(text_width(block) + 1, static_cast<int>(std::ceil((under_line_pt(c, block) + 26) / cell_pt)));
  block.height = std::max(row, 2);
}

int widest_name(const Context& c, const Block& block, bool on_left) {
  int width = 0;
  for (const Port& port : block.ports) {
    if (port.on_left == on_left) width = std::max(width, cells_for(shortened(c.loom.terminal(port.terminal).name, 16)));
  }
  return width;
}

/// @param gap  rows between the first and the second pole on the main side, for the parts that stand between
void lay_box(const Context& c, Block& block, const std::vector<TerminalIndex>& all, int gap,
             std::optional<TerminalIndex> first, std::optional<TerminalIndex> second) {
  const int top = (block.name.empty() ? 0 : 1) + (block.what.empty() ? 0 : 1);
  block.axis = top;
  int left = top, right = top;
  const bool everything_right = block.figure == Figure::battery && !first;
  const auto put = [&](TerminalIndex t) {
    const bool on_left = !everything_right && goes_left(c, t);
    int& row = on_left ? left : right;
    row = put_terminal(c, block, t, on_left, row);
  };
  // What ends at the frame comes last, so that its mark stands below the lines.
  std::vector<TerminalIndex> rest = all;
  std::stable_partition(rest.begin(), rest.end(), [&](TerminalIndex t) { return !ends_at_frame(c, t); });
  if (first && second) {
    const bool on_left = block.figure != Figure::battery;
    int& row = on_left ? left : right;
    row = put_terminal(c, block, *first, on_left, row);
    row = std::max(row, top + gap);
    row = put_terminal(c, block, *second, on_left, row);
    // Sense leads start lower: who reads them has a header of its own and must stay clear of the return line.
    if (block.figure == Figure::battery && all.size() > 2) row += 3;
    for (const TerminalIndex t : rest) {
      if (t == *first || t == *second) continue;
      if (block.figure == Figure::battery) {
        right = put_terminal(c, block, t, false, right);
      } else {
        put(t);
      }
    }
  } else {
    for (const TerminalIndex t : rest) put(t);
  }
  const bool mark = block.figure != Figure::box;
  const int names = widest_name(c, block, true) + widest_name(c, block, false) + (mark ? 4 : 2);
  block.width = std::max({text_width(block) + 1, names, 4});
  block.height = std::max({left, right, top + (mark ? 3 : 1)});
}

/// All poles of a symbol; of a box those with a wire, and in a drawing of the whole loom those that lack one.
std::vector<TerminalIndex> shown_terminals(const Context& c, const Block& block, const Part& part) {
  std::vector<TerminalIndex> shown;
  for (const TerminalIndex t : part.terminals) {
    const Terminal& terminal = c.loom.terminal(t);
    const bool needed = is_inline(block.figure) || (c.pick.whole && !c.wired[t.value]);
    if (terminal.inside || (c.uses[t.value].empty() && (terminal.optional || !needed))) continue;
    shown.push_back(t);
  }
  return shown;
}

}  // namespace

Figure figure_of(const Kind& kind) {
  const std::string& symbol = kind.symbol;
  const std::size_t poles = kind.terminals.size();
  if (kind.any_terminal) return Figure::splice;
  if (symbol == "connector" && !kind.repeat.empty()) return Figure::plug;
  if (symbol == "fuse" && poles == 2) return Figure::fuse;
  if (symbol == "breaker") return Figure::breaker;
  if (symbol == "resistor" && poles == 2) return Figure::resistor;
  if (symbol == "diode" && poles == 2) return Figure::diode;
  if (symbol == "capacitor" && poles == 2) return Figure::capacitor;
  if (symbol == "lamp" && poles == 2) return Figure::lamp;
  if (symbol == "switch" && kind.repeat.empty() && (poles == 2 || poles == 4)) return Figure::blade;
  if (symbol == "contact" && poles == 4) return Figure::contact;
  if (symbol == "battery") return Figure::battery;
  if (symbol == "motor") return Figure::motor;
  if (symbol == "converter") return Figure::converter;
  return Figure::box;
}

bool is_inline(Figure figure) {
  return figure != Figure::box && figure != Figure::battery && figure != Figure::motor && figure != Figure::converter &&
         figure != Figure::plug && figure != Figure::splice && figure != Figure::strap;
}

std::string what_of(const Loom& loom, const Part& part, Figure figure) {
  std::string text = part.kind == part.name ? "" : part.kind;
  const bool one_value = figure == Figure::fuse || figure == Figure::breaker || figure == Figure::resistor ||
                         figure == Figure::capacitor || figure == Figure::lamp;
  if (one_value) {
    for (const AttributeRule& rule : loom.kind_of(part).attributes) {
      const Scalar* scalar = part.find(rule.name);
      const auto* value = scalar ? std::get_if<Magnitude>(&scalar->value) : nullptr;
      if (value && !value->written.empty()) return shortened(value->written, longest_name);
    }
  }
  return shortened(text, longest_name);
}

void lay(const Context& c, Block& block, int gap, std::optional<TerminalIndex> first,
         std::optional<TerminalIndex> second) {
  const std::vector<TerminalIndex> shown = shown_terminals(c, block, c.loom.part(*block.part));
  block.ports.clear();
  block.pin_rows.clear();
  if (is_inline(block.figure) && (shown.size() == 2 || shown.size() == 4)) return lay_inline(c, block, shown);
  if (block.figure == Figure::splice) return lay_splice(c, block, shown);
  if (block.figure == Figure::plug) return lay_plug(c, block, shown);
  if (is_inline(block.figure)) block.figure = Figure::box;
  lay_box(c, block, shown, gap, first, second);
}

}  // namespace loomproof::diagram
