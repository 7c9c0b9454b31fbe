// How many cells in series lie between two points of the circuit.
#include "solve/cell_levels.h"

#include <cmath>

#include "solve/pack_duty.h"

namespace loomproof {
namespace {

// A section of a pack between two pieces of the circuit.
struct Section {
  int low = 0, high = 0;  // pieces
  CellLevel rise;
};

std::vector<Section> sections_of(const Circuit& circuit, const std::vector<int>& piece) {
  std::vector<Section> out;
  for (const Source& s : circuit.loom->elements.sources) {
    const auto series = circuit.loom->part(s.part).number("series");
    if (s.zone != Zone::traction || !s.sinks || !series) continue;
    CellLevel rise;
    rise.cells = static_cast<int>(std::lround(*series * s.share));
    rise.empty_known = s.empty_v.value.has_value();
    if (rise.empty_known) rise.empty_v = *s.empty_v * s.share;
    out.push_back({piece[circuit.node(s.neg)], piece[circuit.node(s.pos)], rise});
  }
  return out;
}

CellLevel shifted(const CellLevel& level, const CellLevel& rise, int sign) {
  return {level.cells + sign * rise.cells, level.empty_v + sign * rise.empty_v, level.empty_known && rise.empty_known};
}

}  // namespace

std::vector<std::optional<CellLevel>> cell_levels(const Circuit& circuit, const CircuitGraph& graph, int from) {
  const std::vector<int> piece = joined_without_diodes(circuit, graph);
  const std::vector<Section> sections = sections_of(circuit, piece);
  std::vector<std::optional<CellLevel>> by_piece(circuit.nodes);
  by_piece[piece[from]] = CellLevel{};
  for (bool moved = true; moved;) {
    moved = false;
    for (const Section& s : sections) {
      auto& low = by_piece[s.low];
      auto& high = by_piece[s.high];
      if (low.has_value() == high.has_value()) continue;
      if (low) high = shifted(*low, s.rise, 1);
      if (!low) low = shifted(*high, s.rise, -1);
      moved = true;
    }
  }
  std::vector<std::optional<CellLevel>> out(circuit.nodes);
  for (int n = 0; n < circuit.nodes; ++n) out[n] = by_piece[piece[n]];
  return out;
}

}  // namespace loomproof
