// Where dangerous voltage begins, and how much a traction circuit has.
#pragma once

#include <algorithm>

#include "solve/pack_duty.h"
#include "solve/solved.h"
#include "solve/supply.h"

namespace loomproof {

/// V d.c.; above it a circuit is of class B. UN R100 and R136, ISO 6469-3 (tests/reference/voltage_class_limits.csv).
inline constexpr double class_a_v = 60;

/// The highest voltage of the traction circuit: of a pack by itself, or of what stands in series, or of the charger.
inline double highest_traction_v(const Solved& solved) {
  double most = traction_full_v(solved.circuit);
  for (std::size_t t = 0; t < solved.zone.size(); ++t) {
    if (solved.zone[t] == Zone::traction) most = std::max(most, solved.extremes.terminal_v[t].value);
  }
  return most;
}

/// What tells the class of the cable: packs in series have more than any of them, and one alone counts by its full
/// charge, whatever braking adds to it.
inline double cable_class_v(const Solved& solved) {
  const bool several = packs_of(solved.circuit).size() > 1;
  return several ? highest_traction_v(solved) : traction_full_v(solved.circuit);
}

}  // namespace loomproof
