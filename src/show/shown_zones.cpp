// A position sensor switches its lead to its return; the controller pulls the lead up inside. Neither is an element
// of the network, so the check finds no source there, but who reads "no source" on a drawing takes the lead for dead.
#include "show/shown_zones.h"

#include <algorithm>

#include "rules/subject.h"
#include "solve/circuit_graph.h"

namespace loomproof {

std::vector<Zone> shown_zones(const Solved& solved) {
  const Loom& loom = *solved.loom;
  std::vector<Zone> zones = solved.zone;
  const std::vector<int> piece =
      components(solved.graph, solved.circuit, [&](const Branch& b) { return is_conductor(solved.circuit, b); });
  const auto piece_of = [&](std::size_t t) { return piece[solved.circuit.node_of[t]]; };
  std::vector<char> is_signal(piece.size(), 0);
  for (const Source& source : loom.elements.sources) {
    if (source.zone != Zone::signal) continue;
    for (const TerminalIndex t : loom.part(source.part).terminals) {
      if (is_wired(loom, t)) is_signal[static_cast<std::size_t>(piece_of(t.value))] = 1;
    }
  }
  for (std::size_t t = 0; t < zones.size(); ++t) {
    if (zones[t] == Zone::none && is_signal[static_cast<std::size_t>(piece_of(t))] != 0) zones[t] = Zone::signal;
  }
  return zones;
}

}  // namespace loomproof
