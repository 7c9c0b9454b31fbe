// When a lamp is seen to be on.
#pragma once

namespace loomproof {

inline constexpr double shines_from = 0.5;     ///< share of the rated voltage
inline constexpr double assumed_rated_v = 12;  ///< of a lamp that states none

}  // namespace loomproof
