// How warm a coil gets by its own power, and what that does to the voltage that it needs.
#pragma once

#include <cmath>

#include "units/quantity.h"

namespace loomproof {

/// Of copper per kelvin, at 20 degC (IEC 60028).
inline constexpr double coil_copper_per_k = 0.00393;

/// Temperature of a coil after hours at `volts`, in still air of `ambient`.
/// @param hot  degC after hours at its `rated` voltage in air of 20 degC, as makers state and a meter tells
/// Heat given off goes with the rise (Newton), heat taken in is V^2 / R(T), R(T) = R20 (1 + a (T - 20)), so with
/// x = T - 20 and K = (hot - 20) (1 + a (hot - 20)) (V / Vrated)^2:  (x - (ambient - 20)) (1 + a x) = K.
inline Celsius coil_temperature(Celsius hot, Volt rated, Volt volts, Celsius ambient) {
  const double a = coil_copper_per_k, rise = hot.value - 20, warm = ambient.value - 20, share = volts / rated;
  const double heat = rise * (1 + a * rise) * share * share;
  const double b = 1 - a * warm;
  return Celsius(20 + (-b + std::sqrt(b * b + 4 * a * (warm + heat))) / (2 * a));
}

/// Voltage that drives the same current, and so the same pull, through a coil at that temperature.
inline Volt pull_in_at(Volt at_20, Celsius coil) {
  return at_20 * (1 + coil_copper_per_k * (coil.value - 20));
}

}  // namespace loomproof
