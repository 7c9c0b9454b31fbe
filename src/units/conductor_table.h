// Metric copper conductors row by row: the nominal sizes of ISO 6722-1, and of IEC 60228 class 5 above them.
#pragma once

#include <optional>
#include <span>

namespace loomproof {

struct MetricConductor {
  double size_mm2;                         // nominal size, not the metallic area
  double max_milliohm_per_m;               // at 20 degC, plain copper
  std::optional<double> max_conductor_mm;  // outside the strands
  std::optional<double> max_cable_mm;      // outside a thin wall
};

std::span<const MetricConductor> metric_conductors();

/// The row of this nominal size, or nullptr. An AWG area is never mistaken for one: the nearest pair, 20 AWG and
/// 0.5 mm2, is 3.5 % apart.
const MetricConductor* find_metric_conductor(double size_mm2);

}  // namespace loomproof
