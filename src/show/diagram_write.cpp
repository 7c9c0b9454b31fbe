// The finished sheet as DOT text with every position fixed.
#include "show/diagram_write.h"

#include <algorithm>
#include <map>
#include <set>

#include <fmt/format.h>

#include "show/diagram_ink.h"
#include "show/diagram_legend.h"
#include "show/diagram_lines.h"
#include "show/diagram_symbols.h"
#include "show/dot_escape.h"

namespace loomproof::diagram {
namespace {

std::string at(const Point& p) {
  return fmt::format("\"{},{}\"", number(p.x), number(p.y));
}
std::string inches(double points) {
  return fmt::format("{:.4f}", points / 72);
}

/// One long string as a sum of short ones: dot's scanner takes no literal beyond 16384 bytes.
std::string in_pieces(const std::string& text) {
  constexpr std::size_t piece = 8000;
  std::string out = "\"" + text.substr(0, piece) + "\"";
  for (std::size_t at = piece; at < text.size(); at += piece) out += "\n+ \"" + text.substr(at, piece) + "\"";
  return out;
}

class Writer {
 public:
  Writer(const DiagramRequest& request, const Sheet& sheet)
      : request_(request), loom_(request.loom), sheet_(sheet), margins_(margins_of(sheet)) {
    frame_.origin = {margins_.side + half * cell_pt, margins_.bottom + (sheet.rows - half) * cell_pt};
  }

  std::string write() {
    regions();
    casings();
    for (const Block& block : sheet_.blocks) {
      if (has_border(block)) paper(block);
      draw_symbol(ink_, frame_, block);
    }
    for (const Block& block : sheet_.blocks) earth_marks(block);
    draw_legend(ink_, sheet_, margins_);
    out_ = "digraph loom {\n";
    out_ += fmt::format(
        "graph [layout=nop2, bb=\"0,0,{},{}\", pad=0, outputorder=edgesfirst, "
        "fontname=Helvetica, charset=\"UTF-8\",\n_background={}];\n",
        number(margins_.width), number(margins_.height), in_pieces(ink_.operations()));
    out_ += "node [fontname=Helvetica, fixedsize=shape, label=\"\"];\n";
    out_ += "edge [fontname=Helvetica, dir=none];\n";
    title();
    clusters();
    for (const Run& run : sheet_.runs) wire(run);
    markers();
    return out_ + "}\n";
  }

 private:
  struct Region {
    Zone zone;
    Box box;
    std::vector<std::size_t> blocks;
  };

  Zone zone_of(const Block& block) const {
    Zone zone = Zone::none;
    for (const Port& port : block.ports) {
      if (port.terminal.value < request_.zones.size()) zone = std::max(zone, request_.zones[port.terminal.value]);
    }
    return block.upper ? Zone::traction : zone;
  }

  /// Traction above, low voltage below; signal parts in patches of their own; what no source reaches stays below.
  void regions() {
    if (sheet_.upper_rows > 0) regions_.push_back({Zone::traction, {0, 0, sheet_.columns, sheet_.upper_rows}, {}});
    const int below = sheet_.rows - sheet_.upper_rows;
    if (below > 0) regions_.push_back({Zone::low_voltage, {0, sheet_.upper_rows, sheet_.columns, below}, {}});
    for (std::size_t b = 0; b < sheet_.blocks.size(); ++b) {
      const Block& block = sheet_.blocks[b];
      if (zone_of(block) == Zone::signal) {
        regions_.push_back({Zone::signal, {block.x - 1, block.y - 1, block.width + 2, block.height + 2}, {b}});
      } else {
        for (Region& region : regions_) {
          if (region.zone == (block.upper ? Zone::traction : Zone::low_voltage)) region.blocks.push_back(b);
        }
      }
    }
    std::erase_if(regions_, [](const Region& region) { return region.blocks.empty(); });
    for (const Region& region : regions_) {
      const ZoneLook& look = look_of(region.zone);
      const auto [low, high] = corners(region.box);
      ink_.pen(look.shade, 0.1);
      ink_.fill(look.shade);
      ink_.shape({low, {high.x, low.y}, high, {low.x, high.y}}, true);
    }
  }

  std::pair<Point, Point> corners(const Box& box) const {
    const double gap = box.width == sheet_.columns ? 0.15 : 0;
    return {frame_.at(box.x - half, box.y + box.height - half - gap),
            frame_.at(box.x + box.width - half, box.y - half + gap)};
  }

  /// The dark edge of traction lines lies under the lines themselves, which are edges of the graph.
  void casings() {
    for (const Run& run : sheet_.runs) {
      const ZoneLook& look = look_of(run.zone);
      if (look.casing.empty()) continue;
      ink_.pen(look.casing, line_width(loom_.wire(run.wire).size) * 1.15 + 0.9);
      ink_.curve(spline_of(corners_of(frame_, sheet_, run)));
    }
  }

  void paper(const Block& block) {
    const auto [low, high] = corners({block.x, block.y, block.width, block.height});
    ink_.pen("#ffffff", 0.1);
    ink_.fill("#ffffff");
    ink_.shape({low, {high.x, low.y}, high, {low.x, high.y}}, true);
  }

  void earth_marks(const Block& block) {
    for (const Port& port : block.ports) {
      if (!port.earth) continue;
      Point end = line_end(frame_, block, port);
      const int out = port.on_left ? -1 : 1;
      end.x += out * port.stub_cells * cell_pt;
      draw_earth(ink_, end, out);
    }
  }

  void title() {
    const std::string name = loom_.vehicle.empty() ? "Wiring diagram" : shortened(loom_.vehicle, 60);
    text_node("title", name, {margins_.side, margins_.height - 13}, 13, true, true);
    const std::string file = shortened(loom_.file, 80);
    const double x = margins_.side + 0.62 * 13 * static_cast<double>(characters_in(name)) + 14;
    if (!file.empty()) text_node("file", file, {x, margins_.height - 14}, 8, false, true);
  }

  /// @param from_left  the point is the text's left end, not its middle
  void text_node(std::string_view id, const std::string& text, Point p, double size, bool bold, bool from_left) {
    const double width = 0.6 * size * static_cast<double>(characters_in(text));
    if (from_left) p.x += width / 2;
    out_ += fmt::format("{} [shape=none, label={}, fontsize={}{}, width={}, height={}, pos={}];\n", dot_id(id),
                        dot_label(text), number(size), bold ? ", fontname=\"Helvetica-Bold\"" : "", inches(width),
                        inches(size), at(p));
  }

  void clusters() {
    std::map<Zone, int> count;
    for (const Region& region : regions_) {
      const ZoneLook& look = look_of(region.zone);
      const auto [low, high] = corners(region.box);
      const int n = ++count[region.zone];
      const std::string id = fmt::format("cluster {}{}", look.name, n > 1 ? fmt::format(" {}", n) : "");
      out_ += fmt::format("subgraph \"{}\" {{\n", id);
      out_ += fmt::format(
          "graph [bb=\"{},{},{},{}\", pencolor=\"{}\", penwidth=0.6, style=dashed, label=\"{}\", "
          "fontsize=7, fontcolor=\"{}\", lp={}];\n",
          number(low.x), number(low.y), number(high.x), number(high.y), look.tint,
          region.zone == Zone::signal ? "" : look.name, look.tint, at({high.x - 24, low.y + 6}));
      for (const std::size_t b : region.blocks) block(b);
      out_ += "}\n";
    }
  }

  void block(std::size_t index) {
    const Block& b = sheet_.blocks[index];
    const Point low = frame_.at(b.x - half, b.y + b.height - half), high = frame_.at(b.x + b.width - half, b.y - half);
    const Point middle{(low.x + high.x) / 2, (low.y + high.y) / 2};
    if (b.part) {
      const Part& part = loom_.part(*b.part);
      const bool border = has_border(b);
      const std::string tooltip = part.name + " (" + part.kind + ")";
      const Point name{middle.x, frame_.at(0, b.y).y - (border ? 1.2 : 0)};
      const Point what{
          middle.x,
          frame_.at(0, border ? b.y + (b.name.empty() ? 0 : 1) : b.y + (b.second_axis > 0 ? b.height - 1 : b.axis + 1))
              .y};
      const std::string id = dot_id("part " + part.name);
      out_ += fmt::format("{} [shape=box, pos={}, width={}, height={}, tooltip={}, {}];\n", id, at(middle),
                          inches(high.x - low.x), inches(high.y - low.y), dot_label(tooltip),
                          border ? "penwidth=1.1, color=\"#1a1a1a\"" : "penwidth=0, color=none, style=invis");
      const bool small = b.figure == Figure::splice;
      text_node("name " + part.name, b.name, name, small ? small_text_pt : name_text_pt, !small, false);
      if (!b.what.empty()) text_node("what " + part.name, b.what, what, small_text_pt, false, false);
    }
    terminals(b);
  }

  /// A terminal is a dot on the border, stretched where several wires meet on it, with its name just inside.
  void terminals(const Block& b) {
    std::set<TerminalIndex> done;
    for (const Port& port : b.ports) {
      if (!b.part || !done.insert(port.terminal).second) continue;
      int last = port.row;
      for (const Port& other : b.ports) {
        if (other.terminal == port.terminal && other.on_left == port.on_left) last = std::max(last, other.row);
      }
      const Point top = line_end(frame_, b, port);
      const Point centre{top.x, top.y - (last - port.row) * cell_pt / 2};
      const double height = 3.6 + (last - port.row) * cell_pt;
      const bool shown = b.figure != Figure::splice;
      out_ += fmt::format(
          "{} [shape={}, style=\"filled{}\", fillcolor={}, color=\"#1a1a1a\", penwidth=0.9, width={}, "
          "height={}, pos={}, tooltip={}{}];\n",
          dot_id(loom_.title(port.terminal)), last == port.row ? "circle" : "box", last == port.row ? "" : ",rounded",
          port.wire ? "\"#1a1a1a\"" : "white", inches(shown ? 3.6 : 0.1), inches(shown ? height : 0.1), at(centre),
          dot_label(loom_.title(port.terminal)), name_of_terminal(b, port, top));
    }
  }

  std::string name_of_terminal(const Block& b, const Port& port, const Point& end) const {
    if (b.figure == Figure::splice) return "";
    const std::string name = shortened(loom_.terminal(port.terminal).name, 16);
    const double width = 0.58 * small_text_pt * static_cast<double>(characters_in(name));
    const double inward = port.on_left ? 1 : -1;
    Point place{end.x + inward * (width / 2 + 5), end.y};
    if (!has_border(b)) place = {end.x + inward * (width / 2 + 2), end.y - 5.4};
    return fmt::format(", xlabel={}, xlp={}, fontsize={}", dot_label(name), at(place),
                       number(has_border(b) ? small_text_pt : small_text_pt - 0.8));
  }

  void wire(const Run& run) {
    const Wire& w = loom_.wire(run.wire);
    const std::vector<Point> corners = corners_of(frame_, sheet_, run);
    const ZoneLook& look = look_of(run.zone);
    const double width = line_width(w.size);
    std::string ends[2];
    const bool strap = sheet_.blocks[run.block_a].figure == Figure::strap;
    for (const bool to : {false, true}) {
      const TerminalIndex t = to ? w.to : w.from;
      const bool on_frame = loom_.kind_of(loom_.part(loom_.terminal(t).part)).is_frame;
      ends[to] = dot_id(on_frame ? w.name + (strap && to ? "@@" : "@") + loom_.title(t) : loom_.title(t));
      if (on_frame) earth_node(run, ends[to], t, strap && !to ? corners.front() : corners.back());
    }
    const Point label = text_place(frame_, sheet_, run, width);
    std::string spline;
    for (const Point& p : spline_of(corners)) spline += (spline.empty() ? "" : " ") + number(p.x) + "," + number(p.y);
    out_ += fmt::format(
        "{} -> {} [pos=\"{}\", color=\"{}\", style={}, penwidth={}, label={}, lp={}, fontsize={}, tooltip={}, "
        "id={}];\n",
        ends[0], ends[1], spline, look.tint, look.pattern, number(width), dot_label(run.text), at(label),
        number(wire_text_pt), dot_label(w.name + ": " + loom_.title(w.from) + " to " + loom_.title(w.to)),
        dot_id("wire " + w.name));
  }

  void earth_node(const Run& run, const std::string& id, TerminalIndex t, const Point& end) {
    const Port& port = sheet_.blocks[run.block_a].ports[run.port_a];
    const std::string stud = shortened(loom_.terminal(t).name, 10);
    const double out = port.on_left ? -1 : 1;
    const double width = 0.58 * small_text_pt * static_cast<double>(characters_in(stud));
    out_ += fmt::format("{} [shape=point, style=invis, width=0.01, pos={}, tooltip={}];\n", id, at(end),
                        dot_label(loom_.title(t)));
    if (stud.empty()) return;
    text_node("stud " + loom_.wire(run.wire).name + " " + loom_.title(t), stud, {end.x + out * (width / 2 + 8), end.y},
              small_text_pt, false, false);
  }

  void markers() {
    if (!request_.judgement) return;
    std::map<std::size_t, int> on_wire, on_part;
    int finding_number = 0;
    for (const Obligation* finding : request_.judgement->findings()) {
      ++finding_number;
      std::optional<Point> place;
      if (finding->subject.wire) {
        for (const Run& run : sheet_.runs) {
          if (run.wire == *finding->subject.wire) place = marker_place(frame_, sheet_, run, on_wire[run.wire.value]++);
        }
      } else if (finding->subject.part) {
        for (const Block& b : sheet_.blocks) {
          if (b.part != finding->subject.part) continue;
          const int n = on_part[b.part->value]++;
          place = frame_.at(b.x + b.width - half - n * 1.4, b.y - half);
        }
      }
      if (!place) continue;
      const bool broken = finding->verdict == Verdict::broken;
      out_ += fmt::format(
          "\"finding {}\" [shape={}, style=filled, fillcolor={}, fontcolor={}, color=black, penwidth=1, "
          "width={}, height={}, fontsize=7.5, fontname=\"Helvetica-Bold\", label=\"{}\", pos={}, tooltip={}];\n",
          finding_number, broken ? "circle" : "box", broken ? "black" : "white", broken ? "white" : "black",
          inches(finding_number > 99 ? 14 : 11), inches(11), finding_number, at(*place), dot_label(finding->what));
    }
  }

  const DiagramRequest& request_;
  const Loom& loom_;
  const Sheet& sheet_;
  Margins margins_;
  Frame frame_;
  Ink ink_;
  std::vector<Region> regions_;
  std::string out_;
};

}  // namespace

std::string write_dot(const DiagramRequest& request, const Sheet& sheet) {
  return Writer(request, sheet).write();
}

}  // namespace loomproof::diagram
