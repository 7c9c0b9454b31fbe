// Where the settling of a network stops, and what a converter needs to work: the same for every network.
#pragma once

#include <algorithm>

#include "model/element.h"

namespace loomproof {

inline constexpr int most_iterations = 200;
inline constexpr int most_logic_steps = 60;
inline constexpr int most_flips = 6;              ///< between working and starved
inline constexpr double unknown_forward_v = 0.7;  ///< of a diode that states none
inline constexpr double least_live_v = 1.0;       ///< of what states no lowest voltage
inline constexpr double least_bus_v = 1e-3;       ///< below it a bus has no voltage at all

/// Lowest input voltage in V at which a converter does its work.
inline double in_live_v(const Converter& c) {
  return c.low_v ? std::max(0.5 * *c.low_v, least_live_v) : least_live_v;
}

}  // namespace loomproof
