// Never, or without bound.
#pragma once

#include <limits>

namespace loomproof {

inline constexpr double infinite = std::numeric_limits<double>::infinity();

}  // namespace loomproof
