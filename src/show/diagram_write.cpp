// The finished sheet as DOT text with every position fixed.
#include "show/diagram_write.h"

#include <algorithm>
#include <map>
#include <set>

#include <fmt/format.h>

#include "show/diagram_ink.h"
#include "show/diagram_lines.h"
#include "show/diagram_page.h"
#include "show/diagram_route.h"
#include "show/diagram_symbols.h"
#include "show/dot_escape.h"
#include "show/text_width.h"

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

/// Tints that are text must be dark enough to read.
std::string_view darker(Zone zone) {
  const ZoneLook& look = look_of(zone);
  return look.casing.empty() ? look.tint : look.casing;
}

class Writer {
 public:
  Writer(const DiagramRequest& request, const Sheet& sheet, const SheetNumber& number_of_sheet)
      : request_(request), loom_(request.loom), sheet_(sheet), number_(number_of_sheet), page_(page_of(sheet)) {
    frame_.origin = {page_.sheet_corner.x + half * cell_pt, page_.sheet_corner.y - half * cell_pt};
  }

  std::string write() {
    paper_edge();
    regions();
    bands();
    casings();
    for (const Block& block : sheet_.blocks) {
      if (has_border(block)) paper(block);
      draw_symbol(ink_, frame_, block);
    }
    for (const Block& block : sheet_.blocks) end_marks(block);
    draw_legend(ink_, page_, content());
    std::vector<TitleText> titles = draw_title(ink_, page_, title_fields());
    out_ = "digraph loom {\n";
    out_ += fmt::format(
        "graph [layout=nop2, bb=\"0,0,{},{}\", size=\"{},{}!\", pad=0, outputorder=edgesfirst, "
        "fontname=Helvetica, charset=\"UTF-8\",\n_background={}];\n",
        number(page_.width), number(page_.height), inches(sheet_.paper.width_pt), inches(sheet_.paper.height_pt),
        in_pieces(ink_.operations()));
    out_ += "node [fontname=Helvetica, fixedsize=shape, label=\"\"];\n";
    out_ += "edge [fontname=Helvetica, dir=none];\n";
    titles.push_back(caution_line(sheet_, page_, request_.caution));
    for (const TitleText& t : titles) text_node(t.id, t.text, t.left, t.size, t.bold, true);
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

  /// White paper, so that the picture is the whole page and never transparent.
  void paper_edge() {
    ink_.pen("#ffffff", 0.1);
    ink_.fill("#ffffff");
    ink_.shape({{0, 0}, {page_.width, 0}, {page_.width, page_.height}, {0, page_.height}}, true);
  }

  Content content() const {
    Content content;
    std::set<Zone, std::greater<>> zones;
    for (const Run& run : sheet_.runs) zones.insert(run.zone);
    content.zones.assign(zones.begin(), zones.end());
    for (const Block& block : sheet_.blocks) {
      content.contacts |= block.figure == Figure::blade || block.figure == Figure::contact;
      for (const Port& port : block.ports) {
        content.earths |= port.ending == Ending::earth;
        content.tags |= port.ending == Ending::tag;
      }
    }
    content.findings = request_.judgement && !request_.judgement->findings().empty();
    content.path = !request_.path.empty();
    return content;
  }

  TitleFields title_fields() const {
    TitleFields fields;
    fields.vehicle = loom_.vehicle.empty() ? "Wiring diagram" : loom_.vehicle;
    fields.file = loom_.file;
    fields.date = request_.date;
    fields.file_mark = request_.file_mark;
    fields.view = request_.view_name;
    if (number_.of > 1) fields.sheet = fmt::format("sheet {} of {}", number_.sheet, number_.of);
    return fields;
  }

  static Zone zone_of(const Block& block) { return block.upper ? Zone::traction : block.zone; }

  /// Traction above, low voltage below; signal parts in patches of their own; what no source reaches stays below.
  void regions() {
    if (sheet_.upper_rows > 0) regions_.push_back({Zone::traction, {0, 0, sheet_.columns, sheet_.upper_rows}, {}});
    const int below = sheet_.rows - sheet_.upper_rows;
    if (below > 0) regions_.push_back({Zone::low_voltage, {0, sheet_.upper_rows, sheet_.columns, below}, {}});
    for (std::size_t b = 0; b < sheet_.blocks.size(); ++b) {
      const Block& block = sheet_.blocks[b];
      if (zone_of(block) == Zone::signal && block.part) {
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

  void bands() {
    for (const WireIndex wire : request_.path) {
      for (const Run& run : sheet_.runs) {
        if (run.wire != wire) continue;
        draw_band(ink_, spline_of(corners_of(frame_, sheet_, run)), line_width(loom_.wire(run.wire).size));
      }
    }
  }

  /// The dark edge of traction lines lies under the lines themselves, which are edges of the graph.
  void casings() {
    for (const Run& run : sheet_.runs) {
      const ZoneLook& look = look_of(run.zone);
      if (look.casing.empty()) continue;
      ink_.pen(look.casing, full_width(run.zone, line_width(loom_.wire(run.wire).size)));
      ink_.curve(spline_of(corners_of(frame_, sheet_, run)));
    }
  }

  void paper(const Block& block) {
    const auto [low, high] = corners({block.x, block.y, block.width, block.height});
    ink_.pen("#ffffff", 0.1);
    ink_.fill("#ffffff");
    ink_.shape({low, {high.x, low.y}, high, {low.x, high.y}}, true);
  }

  void end_marks(const Block& block) {
    for (const Port& port : block.ports) {
      if (port.ending == Ending::block) continue;
      Point end = line_end(frame_, block, port);
      const int out = port.on_left ? -1 : 1;
      end.x += out * port.stub_cells * cell_pt;
      if (port.ending == Ending::earth) draw_earth(ink_, end, out);
      if (port.ending == Ending::tag) draw_tag(ink_, end, text_width_pt(port.mark, text_pt) + 12, out);
    }
  }

  /// @param from_left  the point is the text's left end, not its middle
  void text_node(std::string_view id, const std::string& text, Point p, double size, bool bold, bool from_left) {
    const double width = text_width_pt(text, size, bold);
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
          "fontsize=8, fontcolor=\"{}\", lp={}];\n",
          number(low.x), number(low.y), number(high.x), number(high.y), look.tint,
          region.zone == Zone::signal ? "" : look.name, darker(region.zone),
          at({high.x - text_width_pt(look.name, text_pt) / 2 - 4, low.y + 6}));
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
      const Point name{middle.x, frame_.at(0, b.y).y + (border ? -1.2 : 1.5)};
      const int what_row = border ? (b.name.empty() ? 0 : 1) : b.what_row;
      const Point what{middle.x, frame_.at(0, b.y + what_row).y + (border ? -1.2 : -1)};
      const std::string id = dot_id("part " + part.name);
      out_ += fmt::format("{} [shape=box, pos={}, width={}, height={}, tooltip={}, {}];\n", id, at(middle),
                          inches(high.x - low.x), inches(high.y - low.y), dot_label(tooltip),
                          border ? "penwidth=1.1, color=\"#1a1a1a\"" : "penwidth=0, color=none, style=invis");
      text_node("name " + part.name, b.name, name, text_pt, b.figure != Figure::splice, false);
      if (!b.what.empty()) text_node("what " + part.name, b.what, what, text_pt, false, false);
    }
    terminals(b);
  }

  /// A terminal is a dot on the border, stretched where several wires meet on it, with its name just inside.
  void terminals(const Block& b) {
    std::set<TerminalIndex> done;
    for (const Port& port : b.ports) {
      if (!b.part || !done.insert(port.terminal).second) continue;
      int first = port.row, last = port.row;
      for (const Port& other : b.ports) {
        if (other.terminal != port.terminal || other.on_left != port.on_left) continue;
        first = std::min(first, other.row);
        last = std::max(last, other.row);
      }
      Point top = line_end(frame_, b, port);
      top.y += (port.row - first) * cell_pt;
      const Point centre{top.x, top.y - (last - first) * cell_pt / 2};
      const double height = 3.6 + (last - first) * cell_pt;
      const bool shown = b.figure != Figure::splice;
      out_ += fmt::format(
          "{} [shape={}, style=\"filled{}\", fillcolor={}, color=\"#1a1a1a\", penwidth=0.9, width={}, "
          "height={}, pos={}, tooltip={}{}];\n",
          dot_id(loom_.title(port.terminal)), last == first ? "circle" : "box", last == first ? "" : ",rounded",
          port.wire ? "\"#1a1a1a\"" : "white", inches(shown ? 3.6 : 0.1), inches(shown ? height : 0.1), at(centre),
          dot_label(loom_.title(port.terminal)), name_of_terminal(b, port, top, last > first));
    }
  }

  std::string name_of_terminal(const Block& b, const Port& port, const Point& end, bool bar) const {
    if (b.figure == Figure::splice) return "";
    const std::string name = shortened(loom_.terminal(port.terminal).name, 16);
    const double width = text_width_pt(name, text_pt);
    const double inward = port.on_left ? 1 : -1;
    Point place{end.x + inward * (width / 2 + 5), end.y};
    if (!has_border(b)) place = {end.x + inward * (width / 2 + (bar ? 4 : 1)), end.y - 9};
    return fmt::format(", xlabel={}, xlp={}, fontsize={}", dot_label(name), at(place), number(text_pt));
  }

  void wire(const Run& run) {
    const Wire& w = loom_.wire(run.wire);
    const std::vector<Point> corners = corners_of(frame_, sheet_, run);
    const ZoneLook& look = look_of(run.zone);
    const double width = line_width(w.size);
    std::string ends[2];
    for (const bool to : {false, true}) {
      const TerminalIndex t = to ? w.to : w.from;
      const Block& block = sheet_.blocks[to ? run.block_b : run.block_a];
      const Port& port = block.ports[to ? run.port_b : run.port_a];
      const bool ends_here = port.terminal == t && (port.ending == Ending::block || block.part);
      const bool strap = !block.part;
      ends[to] = dot_id(ends_here && !strap ? loom_.title(t) : w.name + (strap && to ? "@@" : "@") + loom_.title(t));
      if (!ends_here || strap) end_node(run, port, ends[to], t, strap && !to ? corners.front() : corners.back());
    }
    const Point label = text_place(frame_, sheet_, run, width);
    std::string spline;
    for (const Point& p : spline_of(corners)) spline += (spline.empty() ? "" : " ") + number(p.x) + "," + number(p.y);
    out_ += fmt::format(
        "{} -> {} [pos=\"{}\", color=\"{}\", style={}, penwidth={}, label={}, lp={}, fontsize={}, tooltip={}, "
        "id={}];\n",
        ends[0], ends[1], spline, look.tint, look.pattern, number(width), dot_label(run.text), at(label),
        number(text_pt), dot_label(w.name + ": " + loom_.title(w.from) + " to " + loom_.title(w.to)),
        dot_id("wire " + w.name));
  }

  /// The far end of a stub or strap: an unseen node that the edge ends at, and the text of the mark.
  void end_node(const Run& run, const Port& port, const std::string& id, TerminalIndex t, const Point& end) {
    const double out = port.on_left ? -1 : 1;
    const double width = text_width_pt(port.mark, text_pt);
    out_ += fmt::format("{} [shape=point, style=invis, width=0.01, pos={}, tooltip={}];\n", id, at(end),
                        dot_label(loom_.title(t)));
    if (port.mark.empty()) return;
    const double gap = port.ending == Ending::tag ? 3 : 8;
    text_node("mark " + loom_.wire(run.wire).name + " " + loom_.title(t), port.mark,
              {end.x + out * (width / 2 + gap), end.y}, text_pt, false, false);
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
          if (run.wire != *finding->subject.wire) continue;
          place = marker_place(frame_, sheet_, run, on_wire[run.wire.value]++);
        }
      } else if (finding->subject.part) {
        for (const Block& b : sheet_.blocks) {
          if (b.part != finding->subject.part) continue;
          const int n = on_part[b.part->value]++;
          const int row = n / b.markers_a_row(), column = n % b.markers_a_row();
          place = frame_.at(b.x + 0.25 + column * b.marker_cells(), b.y - 1.4 - row * 1.45);
        }
      }
      if (!place) continue;
      const bool broken = finding->verdict == Verdict::broken;
      out_ += fmt::format(
          "\"finding {}\" [shape={}, style=filled, fillcolor={}, fontcolor={}, color=black, penwidth=1, "
          "width={}, height={}, fontsize=8, fontname=\"Helvetica-Bold\", label=\"{}\", pos={}, tooltip={}];\n",
          finding_number, broken ? "ellipse" : "box", broken ? "black" : "white", broken ? "white" : "black",
          inches(finding_number > 99 ? 17 : 12), inches(12), finding_number, at(*place), dot_label(finding->what));
    }
  }

  const DiagramRequest& request_;
  const Loom& loom_;
  const Sheet& sheet_;
  SheetNumber number_;
  Page page_;
  Frame frame_;
  Ink ink_;
  std::vector<Region> regions_;
  std::string out_;
};

}  // namespace

std::string write_dot(const DiagramRequest& request, const Sheet& sheet, const SheetNumber& number_of_sheet) {
  return Writer(request, sheet, number_of_sheet).write();
}

}  // namespace loomproof::diagram
