// Which wires a view shows.
#include "show/diagram_view.h"

#include <algorithm>

namespace loomproof {

std::vector<bool> wires_of_view(const Loom& loom, const std::vector<Zone>& zones, DiagramView view) {
  if (view == DiagramView::all) return std::vector<bool>(loom.wires.size(), true);
  std::vector<bool> supply(loom.terminals.size(), false);
  const auto pole = [&](TerminalIndex t) {
    if (t.value < supply.size()) supply[t.value] = true;
  };
  for (const Source& source : loom.elements.sources) {
    if (source.zone != Zone::low_voltage || !source.sinks) continue;
    pole(source.pos);
    pole(source.neg);
  }
  for (const Converter& converter : loom.elements.converters) {
    pole(converter.out_pos);
    pole(converter.out_neg);
  }
  const auto is_traction = [&](TerminalIndex t) { return t.value < zones.size() && zones[t.value] == Zone::traction; };
  std::vector<bool> shown;
  for (const Wire& wire : loom.wires) {
    const bool power =
        is_traction(wire.from) || is_traction(wire.to) || supply[wire.from.value] || supply[wire.to.value];
    shown.push_back(power == (view == DiagramView::power));
  }
  return shown;
}

std::vector<bool> wires_of_bundle(const Loom& loom, BundleIndex bundle) {
  std::vector<bool> shown;
  for (const Wire& wire : loom.wires) {
    shown.push_back(std::find(wire.bundles.begin(), wire.bundles.end(), bundle) != wire.bundles.end());
  }
  return shown;
}

}  // namespace loomproof
