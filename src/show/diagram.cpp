// The wiring diagram: a loom laid out on landscape sheets and written as DOT text for Graphviz to render.
#include "show/diagram.h"

#include <algorithm>
#include <array>

#include "show/diagram_blocks.h"
#include "show/diagram_flow.h"
#include "show/diagram_pick.h"
#include "show/diagram_place.h"
#include "show/diagram_polish.h"
#include "show/diagram_route.h"
#include "show/diagram_size.h"
#include "show/diagram_split.h"
#include "show/diagram_write.h"

namespace loomproof {
namespace diagram {
namespace {

Markers markers_of(const DiagramRequest& request) {
  Markers markers{std::vector<int>(request.loom.wires.size(), 0), std::vector<int>(request.loom.parts.size(), 0)};
  if (!request.judgement) return markers;
  markers.wide = request.judgement->findings().size() > 99;
  for (const Obligation* finding : request.judgement->findings()) {
    const Subject& subject = finding->subject;
    if (subject.wire) {
      if (subject.wire->value < markers.wires.size()) ++markers.wires[subject.wire->value];
    } else if (subject.part && subject.part->value < markers.parts.size()) {
      ++markers.parts[subject.part->value];
    }
  }
  return markers;
}

Sheet blocks_of(const DiagramRequest& request, const Flow& flow, const Pick& pick) {
  Sheet sheet = make_blocks(request.loom, flow, request.zones, markers_of(request), pick);
  if (request.paper == DiagramPaper::a3) sheet.paper = a3_paper;
  return sheet;
}

/// Texts without a free slot: they lie on a part, on one another or beyond the edge. Print that is too small counts
/// too.
long crowded_texts(const Sheet& sheet) {
  const long small = sheet.scale < smallest_scale ? 1 : 0;
  return small + std::count_if(sheet.runs.begin(), sheet.runs.end(), [](const Run& run) { return run.crowded; });
}

/// The search starts several times; the start that routes best gets the last hand. Where that still leaves a text
/// without a free slot, the next best does.
Sheet lay_out(const DiagramRequest& request, const Flow& flow, const Pick& pick) {
  constexpr std::uint32_t starts = 4;
  constexpr int rounds = 2, tries = 8'000;
  const Sheet blank = blocks_of(request, flow, pick);
  struct Start {
    Sheet sheet;
    long cost;
  };
  std::vector<Start> all;
  for (std::uint32_t seed = 1; seed <= starts; ++seed) {
    Sheet sheet = blank;
    place_blocks(sheet, seed);
    Router router(sheet);
    route_runs(sheet, router, rounds);
    const long cost = cost_of_sheet(sheet, router);
    all.push_back({std::move(sheet), cost});
  }
  std::stable_sort(all.begin(), all.end(), [](const Start& l, const Start& r) { return l.cost < r.cost; });
  for (Start& start : all) {
    Router router(start.sheet);
    polish(start.sheet, router, tries, 1);
    if (crowded_texts(start.sheet) == 0) return std::move(start.sheet);
  }
  return std::move(all.front().sheet);
}

/// The main way is drawn straight only when all of it is drawn: of the wires that join two of its parts the largest,
/// since a coil lead beside it may well be on another view.
bool shows_main_way(const Loom& loom, const Flow& flow, const std::vector<bool>& wires) {
  for (std::size_t i = 0; i + 1 < flow.main_way.size(); ++i) {
    double drawn = -1, left_out = -1;
    for (std::size_t w = 0; w < loom.wires.size(); ++w) {
      const PartIndex from = loom.terminal(loom.wires[w].from).part, to = loom.terminal(loom.wires[w].to).part;
      const bool joins = (from == flow.main_way[i] && to == flow.main_way[i + 1]) ||
                         (to == flow.main_way[i] && from == flow.main_way[i + 1]);
      if (!joins) continue;
      double& most = wires[w] ? drawn : left_out;
      most = std::max(most, loom.wires[w].size ? loom.wires[w].size->value.value : 0);
    }
    if (drawn < 0 || drawn < left_out) return false;
  }
  return true;
}

Pick on_one_sheet(const DiagramRequest& request, const Flow& flow) {
  const Loom& loom = request.loom;
  Pick pick;
  pick.wires = request.wires;
  pick.wires.resize(loom.wires.size(), request.wires.empty());
  pick.whole = std::find(pick.wires.begin(), pick.wires.end(), false) == pick.wires.end();
  pick.sheet_of.assign(loom.parts.size(), pick.whole ? 1 : 0);
  for (std::size_t w = 0; w < loom.wires.size(); ++w) {
    if (!pick.wires[w]) continue;
    for (const TerminalIndex t : {loom.wires[w].from, loom.wires[w].to}) {
      pick.sheet_of[loom.terminal(t).part.value] = 1;
    }
  }
  pick.main_way = shows_main_way(loom, flow, pick.wires);
  return pick;
}

/// A wire is drawn on the sheets where an end of it stands; one between two points of the frame on the first.
Pick pick_for(const Loom& loom, const Pick& all, int sheet) {
  Pick pick = all;
  pick.sheet = sheet;
  for (std::size_t w = 0; w < loom.wires.size(); ++w) {
    bool here = false, anywhere = false;
    for (const TerminalIndex t : {loom.wires[w].from, loom.wires[w].to}) {
      const Part& part = loom.part(loom.terminal(t).part);
      if (loom.kind_of(part).is_frame) continue;
      anywhere = true;
      here |= all.sheet_of[loom.terminal(t).part.value] == sheet;
    }
    pick.wires[w] = all.wires[w] && (here || (!anywhere && sheet == 1));
  }
  return pick;
}

}  // namespace
}  // namespace diagram

std::string dot_text(const DiagramRequest& request) {
  const diagram::Flow flow = diagram::find_flow(request.loom);
  const diagram::Pick pick = diagram::on_one_sheet(request, flow);
  diagram::Sheet sheet = diagram::lay_out(request, flow, pick);
  if (diagram::crowded_texts(sheet) > 0 && request.paper == DiagramPaper::a4) {
    DiagramRequest larger = request;
    larger.paper = DiagramPaper::a3;
    sheet = diagram::lay_out(larger, flow, pick);
  }
  return diagram::write_dot(request, std::move(sheet));
}

std::vector<std::string> dot_sheets(const DiagramRequest& request) {
  const diagram::Flow flow = diagram::find_flow(request.loom);
  const diagram::Pick whole = diagram::on_one_sheet(request, flow);
  // What fits by its area may still leave a text without a free slot: then with more room, on more sheets.
  constexpr std::array airier{1.0, 1.2, 1.6, 2.2};
  std::vector<diagram::Sheet> best;
  long fewest = -1;
  for (const double more : airier) {
    diagram::Pick all = whole;
    all.sheet_of = diagram::sheets_of_parts(diagram::blocks_of(request, flow, all), all.sheet_of, more);
    const int count = std::max(1, *std::max_element(all.sheet_of.begin(), all.sheet_of.end()));
    std::vector<diagram::Sheet> sheets;
    long crowded = 0;
    for (int sheet = 1; sheet <= count; ++sheet) {
      sheets.push_back(diagram::lay_out(request, flow, diagram::pick_for(request.loom, all, sheet)));
      crowded += diagram::crowded_texts(sheets.back());
    }
    if (fewest < 0 || crowded < fewest) fewest = crowded, best = std::move(sheets);
    if (fewest == 0) break;
  }
  std::vector<std::string> texts;
  const int count = static_cast<int>(best.size());
  for (int sheet = 1; sheet <= count; ++sheet) {
    texts.push_back(diagram::write_dot(request, best[static_cast<std::size_t>(sheet) - 1], {sheet, count}));
  }
  return texts;
}

}  // namespace loomproof
