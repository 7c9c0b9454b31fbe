// When a lamp is seen to be on, and when it is seen at all.
#pragma once

#include "model/element.h"

namespace loomproof {

inline constexpr double shines_from = 0.5;     ///< share of the rated voltage
/// Share of the rated voltage from which a filament glows for an onlooker. Tungsten's temperature goes with about the
/// 0.42th power of the voltage (textbooks of lighting, from memory): 2700 K at the rated voltage are 1030 K at a tenth,
/// dull red; in the dark a body can be seen from 798 K (Draper point, from memory), a twentieth of the voltage. That a
/// rider notices it from a tenth: common practice, no source.
inline constexpr double glows_from = 0.1;
inline constexpr double assumed_rated_v = 12;  ///< of a lamp that states none

/// What a light's shares are shares of.
inline double rated_volts(const Load& light) {
  return light.rated_v && *light.rated_v > 0 ? *light.rated_v : assumed_rated_v;
}

}  // namespace loomproof
