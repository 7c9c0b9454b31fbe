// From parts and wires to the blocks and runs of one sheet.
#include "show/diagram_blocks.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "show/diagram_shape.h"
#include "show/dot_escape.h"
#include "show/text_width.h"

namespace loomproof::diagram {
namespace {

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
    block.wide_markers = markers.wide;
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
