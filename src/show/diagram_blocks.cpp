// From parts to blocks: which symbol, which side each terminal is on, and how large the block is.
#include "show/diagram_blocks.h"

#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "show/dot_escape.h"
#include "show/text_width.h"

namespace loomproof::diagram {
namespace {

constexpr std::size_t longest_name = 24;

struct Use {  // one wire at a terminal
  WireIndex wire;
  TerminalIndex other;
};

struct Context {
  const Loom& loom;
  const Flow& flow;
  std::vector<std::vector<Use>> uses;  // by terminal: wires of this sheet
  std::vector<bool> wired;             // by terminal: a wire on any sheet
  std::vector<int> lead_side;          // by terminal: +1 gives, -1 takes, 0 no motor lead
  const Markers& marked;               // findings
  const Pick& pick;

  int markers(WireIndex w) const { return w.value < marked.wires.size() ? marked.wires[w.value] : 0; }

  int sheet_of(TerminalIndex t) const { return pick.sheet_of[loom.terminal(t).part.value]; }
  bool is_frame(TerminalIndex t) const { return loom.kind_of(loom.part(loom.terminal(t).part)).is_frame; }
};

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

/// Second line of text: the kind, and for plain symbols the one value that names them.
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

/// Energy enters on the left and leaves on the right; what carries none stands with its neighbours.
bool goes_left(const Context& c, TerminalIndex t) {
  int incoming = 0, outgoing = 0;
  for (const Use& use : c.uses[t.value]) {
    if (c.is_frame(use.other)) {
      ++outgoing;
      continue;
    }
    const int here = c.flow.depth[t.value], there = c.flow.depth[use.other.value];
    if (here == far_away || there == far_away) continue;
    if (there < here) ++incoming;
    if (there > here) ++outgoing;
  }
  if (incoming != outgoing) return incoming > outgoing;
  if (c.lead_side[t.value] != 0) return c.lead_side[t.value] < 0;
  // Decided by the terminals that go to the same part.
  int votes = 0;
  for (const Use& use : c.uses[t.value]) {
    const Part& part = c.loom.part(c.loom.terminal(t).part);
    for (const TerminalIndex mate : part.terminals) {
      for (const Use& other : c.uses[mate.value]) {
        if (c.loom.terminal(other.other).part != c.loom.terminal(use.other).part) continue;
        const int here = c.flow.depth[mate.value], there = c.flow.depth[other.other.value];
        if (c.lead_side[mate.value] != 0) votes += c.lead_side[mate.value];
        if (here != far_away && there != far_away) votes += there > here ? 1 : there < here ? -1 : 0;
      }
    }
  }
  return votes <= 0;
}

/// Lines this wide need two rows, or the text of one stands in the next.
bool is_heavy(const Wire& wire) {
  return wire.size && wire.size->value.value > 3;
}

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

bool ends_at_frame(const Context& c, TerminalIndex t) {
  const std::vector<Use>& uses = c.uses[t.value];
  return !uses.empty() && std::all_of(uses.begin(), uses.end(), [&](const Use& u) { return c.is_frame(u.other); });
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

/// A splice has no sides of its own: each wire goes by its own direction, whatever its terminal is called.
bool enters(const Context& c, TerminalIndex t, const Use& use) {
  const int here = c.flow.depth[t.value], there = c.flow.depth[use.other.value];
  if (here != far_away && there != far_away && here != there) return there < here;
  const bool from_pack = !c.flow.main_way.empty() && c.loom.terminal(use.other).part == c.flow.main_way.front();
  return from_pack;  // on the return side the pack stands left of everything
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
  block.height = row;
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

Zone zone_at(const std::vector<Zone>& zones, TerminalIndex t) {
  return t.value < zones.size() ? zones[t.value] : Zone::none;
}

Context make_context(const Loom& loom, const Flow& flow, const Markers& markers, const Pick& pick) {
  const std::size_t terminals = loom.terminals.size();
  Context c{loom,
            flow,
            std::vector<std::vector<Use>>(terminals),
            std::vector<bool>(terminals, false),
            std::vector<int>(terminals, 0),
            markers,
            pick};
  for (std::size_t i = 0; i < loom.wires.size(); ++i) {
    const Wire& wire = loom.wires[i];
    c.wired[wire.from.value] = c.wired[wire.to.value] = true;
    if (!pick.wires[i]) continue;
    c.uses[wire.from.value].push_back({WireIndex{i}, wire.to});
    c.uses[wire.to.value].push_back({WireIndex{i}, wire.from});
  }
  // The heaviest wire first: it is the one that should run straight on.
  const auto size_mm2 = [&](const Use& use) {
    const auto& size = loom.wire(use.wire).size;
    return size ? size->value.value : 0;
  };
  for (std::vector<Use>& uses : c.uses) {
    std::stable_sort(uses.begin(), uses.end(), [&](const Use& a, const Use& b) { return size_mm2(a) > size_mm2(b); });
  }
  for (const Lead& lead : loom.elements.leads) c.lead_side[lead.terminal.value] = lead.gives ? 1 : -1;
  return c;
}

/// A part with a signal on it stands with the signals, though its return is of the low-voltage side.
Zone zone_of(const std::vector<Zone>& zones, const Part& part) {
  Zone zone = Zone::none;
  bool signal = false;
  for (const TerminalIndex t : part.terminals) {
    zone = std::max(zone, zone_at(zones, t));
    signal |= zone_at(zones, t) == Zone::signal;
  }
  return signal && zone != Zone::traction ? Zone::signal : zone;
}

/// The poles of the pack and of the controller that the main way and the return way meet.
std::pair<std::optional<TerminalIndex>, std::optional<TerminalIndex>> poles_of(const Loom& loom, PartIndex part) {
  std::optional<TerminalIndex> pos, neg;
  for (const TerminalIndex t : loom.part(part).terminals) {
    const std::string& name = loom.terminal(t).name;
    if (name == "pos" || name == "bat_pos") pos = t;
    if (name == "neg" || name == "bat_neg") neg = t;
  }
  if (!pos || !neg) return {};
  return {pos, neg};
}

Run make_run(const Context& c, const std::vector<Zone>& zones, WireIndex index) {
  const Wire& wire = c.loom.wire(index);
  Run run;
  run.wire = index;
  run.zone = std::max(zone_at(zones, wire.from), zone_at(zones, wire.to));
  run.text = wire_text(wire);
  run.heavy = is_heavy(wire);
  run.markers = c.markers(index);
  run.text_cells = cells_for(run.text) + 2 * run.markers;
  const double size_mm2 = wire.size ? wire.size->value.value : 0.5;
  run.weight = 1 + std::min(2.0, std::sqrt(std::max(0.0, size_mm2)) / 4);
  const int from = c.flow.depth[wire.from.value], to = c.flow.depth[wire.to.value];
  if (from != far_away && to != far_away && from != to) run.flow = from < to ? 1 : -1;
  return run;
}

}  // namespace

int cells_for(const std::string& text, bool bold) {
  if (text.empty()) return 0;
  return static_cast<int>(std::ceil(text_width_pt(text, text_pt, bold) / cell_pt + 0.4));
}

std::string wire_text(const Wire& wire) {
  std::string text = shortened(wire.name, 14);
  if (wire.size) {
    std::string size = wire.size->written;
    if (size.empty()) size = fmt::format("{:.4g}", wire.size->value.value);
    if (const std::size_t unit = size.find("mm2"); unit != std::string::npos) size = size.substr(0, unit);
    while (!size.empty() && size.back() == ' ') size.pop_back();
    text += " " + shortened(size, 10);
  }
  if (wire.colour) text += " " + shortened(wire.colour->value, 7);
  return text;
}

namespace {

std::size_t port_of(const Block& block, TerminalIndex t, WireIndex wire, std::size_t skip) {
  for (std::size_t p = 0; p < block.ports.size(); ++p) {
    if (block.ports[p].terminal == t && block.ports[p].wire == wire && p != skip) return p;
  }
  return nobody;
}

Block make_strap(const Loom& loom, const Wire& wire, WireIndex index, int text_cells) {
  Block strap;
  strap.figure = Figure::strap;
  strap.width = text_cells + 2;
  strap.height = 1;
  for (const bool left : {true, false}) {
    const TerminalIndex t = left ? wire.from : wire.to;
    Port port{t, index, left};
    port.ending = Ending::earth;
    port.mark = shortened(loom.terminal(t).name, 10);
    port.mark_cells = 1 + cells_for(port.mark);
    strap.ports.push_back(port);
  }
  return strap;
}

/// Pack and controller stretch until the return line passes below everything that stands on the main way.
void stretch_ends(const Context& c, Sheet& sheet) {
  int below = 0;
  for (const std::size_t b : sheet.spine) {
    const Block& block = sheet.blocks[b];
    if (is_inline(block.figure)) below = std::max(below, block.height - block.axis);
  }
  for (const std::size_t end : {sheet.spine.front(), sheet.spine.back()}) {
    Block& block = sheet.blocks[end];
    const auto [pos, neg] = poles_of(c.loom, *block.part);
    if (pos && neg) lay(c, block, below + 3, pos, neg);
  }
}

/// Both ends on this sheet: a run from block to block; else a stub at the end that is.
void add_run(const Context& c, Sheet& sheet, const std::vector<std::size_t>& block_of, const std::vector<Zone>& zones,
             WireIndex index) {
  const Wire& wire = c.loom.wire(index);
  Run run = make_run(c, zones, index);
  const std::size_t from = block_of[c.loom.terminal(wire.from).part.value],
                    to = block_of[c.loom.terminal(wire.to).part.value];
  if (from == nobody && to == nobody) {
    if (!c.is_frame(wire.from) || !c.is_frame(wire.to)) return;
    run.block_a = run.block_b = sheet.blocks.size();
    run.port_b = 1;
    sheet.blocks.push_back(make_strap(c.loom, wire, index, run.text_cells));
  } else {
    if (from != nobody) run.block_a = from, run.port_a = port_of(sheet.blocks[from], wire.from, index, nobody);
    if (to != nobody) {
      run.block_b = to;
      run.port_b = port_of(sheet.blocks[to], wire.to, index, wire.from == wire.to ? run.port_a : nobody);
    }
    if (from == nobody) run.block_a = run.block_b, run.port_a = run.port_b;
    if (to == nobody) run.block_b = run.block_a, run.port_b = run.port_a;
  }
  sheet.blocks[run.block_a].ports[run.port_a].run = sheet.blocks[run.block_b].ports[run.port_b].run = sheet.runs.size();
  sheet.runs.push_back(run);
}

/// The lines of the main way and the return way keep the rows that make them straight.
void pin_ways(Sheet& sheet) {
  for (const auto& way : {sheet.spine, sheet.return_spine}) {
    for (std::size_t i = 0; i + 1 < way.size(); ++i) {
      for (const Run& run : sheet.runs) {
        const bool joins = (run.block_a == way[i] && run.block_b == way[i + 1]) ||
                           (run.block_b == way[i] && run.block_a == way[i + 1]);
        if (!joins) continue;
        sheet.blocks[run.block_a].ports[run.port_a].pinned = sheet.blocks[run.block_b].ports[run.port_b].pinned = true;
      }
    }
  }
}

}  // namespace

Sheet make_blocks(const Loom& loom, const Flow& flow, const std::vector<Zone>& zones, const Markers& markers,
                  const Pick& pick) {
  const Context c = make_context(loom, flow, markers, pick);
  Sheet sheet;
  std::vector<std::size_t> block_of(loom.parts.size(), nobody);
  for (std::size_t i = 0; i < loom.parts.size(); ++i) {
    const Part& part = loom.parts[i];
    const Kind& kind = loom.kind_of(part);
    if (kind.is_frame || pick.sheet_of[i] != pick.sheet) continue;
    Block block;
    block.part = PartIndex{i};
    block.figure = figure_of(kind);
    block.name = shortened(part.name, longest_name);
    block.what =
        block.figure == Figure::splice || block.figure == Figure::plug ? "" : what_of(loom, part, block.figure);
    lay(c, block, 0, std::nullopt, std::nullopt);
    block.zone = zone_of(zones, part);
    block.markers = i < markers.parts.size() ? markers.parts[i] : 0;
    block.upper = block.zone == Zone::traction;
    block.anywhere = block.zone == Zone::signal;
    block.may_flip = block.figure != Figure::battery;
    block_of[i] = sheet.blocks.size();
    sheet.blocks.push_back(block);
  }
  const auto on_sheet = [&](const std::vector<PartIndex>& way) {
    std::vector<std::size_t> blocks;
    for (const PartIndex part : way) {
      if (block_of[part.value] == nobody) return std::vector<std::size_t>{};
      blocks.push_back(block_of[part.value]);
    }
    return blocks;
  };
  if (pick.main_way) {
    sheet.spine = on_sheet(flow.main_way);
    sheet.return_spine = on_sheet(flow.return_way);
  }
  if (!sheet.spine.empty()) stretch_ends(c, sheet);
  for (std::size_t i = 0; i < loom.wires.size(); ++i) {
    if (pick.wires[i]) add_run(c, sheet, block_of, zones, WireIndex{i});
  }
  pin_ways(sheet);
  return sheet;
}

}  // namespace loomproof::diagram
