// Wires that stand a fault alike, and how each fuse does against them.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "solve/fault_paths.h"
#include "solve/heat_over_time.h"
#include "solve/prospective.h"
#include "solve/protect.h"
#include "solve/ride_heat.h"

namespace loomproof {

/// Wires of one build in the same surroundings, of whose faults every fuse sees the same part.
struct WireClass {
  std::vector<std::size_t> wires;
  WireEndurance endurance;
  DamageCurve damage;
  double allowed_a = 0;                              // for ever, judged by the long-term limit
  std::vector<std::optional<Coordination>> by_fuse;  // nothing: the fuse's data are missing
  std::vector<std::optional<Coordination>> in_row;   // the same of a fuse through which all of the wire's current flows
};

/// The datum without which a wire is in no class, `size` or `insulation`; empty when it has both.
std::string missing_of(const Wire&);

/// @param heat  by wire: its surroundings count
std::vector<WireClass> wire_classes(const Loom&, const FaultPaths&, const std::vector<FuseFault>&,
                                    const std::vector<WireHeat>& heat);

}  // namespace loomproof
