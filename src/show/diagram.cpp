// The wiring diagram: a loom laid out on one landscape sheet and written as DOT text for Graphviz to render.
#include "show/diagram.h"

#include <optional>

#include "show/diagram_blocks.h"
#include "show/diagram_flow.h"
#include "show/diagram_place.h"
#include "show/diagram_route.h"
#include "show/diagram_write.h"

namespace loomproof {
namespace diagram {
namespace {

/// Several tries with different seeds; the tidiest is kept.
Sheet lay_out(const DiagramRequest& request) {
  const Flow flow = find_flow(request.loom);
  std::vector<int> markers(request.loom.wires.size(), 0);
  if (request.judgement) {
    for (const Obligation* finding : request.judgement->findings()) {
      if (finding->subject.wire && finding->subject.wire->value < markers.size())
        ++markers[finding->subject.wire->value];
    }
  }
  const Sheet blank = make_blocks(request.loom, flow, request.zones, markers);
  constexpr double looseness = 1.5;
  std::optional<Sheet> best;
  double best_cost = 0;
  for (std::uint32_t attempt = 1; attempt <= 6; ++attempt) {
    Sheet sheet = blank;
    place_blocks(sheet, looseness, attempt);
    route_runs(sheet, 2);
    const Tidiness tidy = tidiness_of(sheet);
    const double cost =
        25.0 * tidy.crowded + 2.0 * tidy.crossings + 0.7 * tidy.corners + 0.1 * tidy.length + 0.6 * sheet.columns;
    if (!best || cost < best_cost) best = std::move(sheet), best_cost = cost;
  }
  return *best;
}

}  // namespace
}  // namespace diagram

std::string dot_text(const DiagramRequest& request) {
  return diagram::write_dot(request, diagram::lay_out(request));
}

}  // namespace loomproof
