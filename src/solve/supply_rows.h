// Supplies as a load meets them: each by itself, and packs in series as the one battery that they are.
#pragma once

#include <string>
#include <vector>

#include "solve/circuit_graph.h"
#include "solve/operating_point.h"
#include "solve/supply.h"

namespace loomproof {

struct SupplyRow {
  std::vector<PartIndex> parts;  // from the positive downwards
  int pos = 0;                   // nodes
  int neg = 0;
  double full_v = 0;
  std::vector<std::pair<int, int>> links;  // nodes that conductors join: negative of a pack, positive of the next

  /// "'pack'", "'pack' and 'pack_b'".
  std::string names(const Loom&) const;
};

/// Every supply of supply_poles(), then every row of two packs and more that conductors tie to one another in some
/// settled point: packs may be switched from series to parallel.
std::vector<SupplyRow> supply_rows(const Circuit&, const std::vector<OperatingPoint>&);

}  // namespace loomproof
