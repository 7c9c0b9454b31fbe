// Area of a round section.
#pragma once

#include <numbers>

namespace loomproof {

constexpr double circle_mm2(double diameter_mm) {
  return std::numbers::pi / 4 * diameter_mm * diameter_mm;
}

}  // namespace loomproof
