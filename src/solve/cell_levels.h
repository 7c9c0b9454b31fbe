// How many cells in series lie between two points of the circuit.
#pragma once

#include <optional>
#include <vector>

#include "solve/circuit.h"
#include "solve/circuit_graph.h"

namespace loomproof {

/// How far a node lies above another, in cells and in volts of these cells when empty.
struct CellLevel {
  int cells = 0;
  double empty_v = 0;
  bool empty_known = true;
};

/// By node: its level above `from`, through packs and what conducts with every contact closed (no diode); nullopt where
/// nothing of that kind leads. A pack that does not say how many cells it has leads nowhere.
std::vector<std::optional<CellLevel>> cell_levels(const Circuit&, const CircuitGraph&, int from);

}  // namespace loomproof
