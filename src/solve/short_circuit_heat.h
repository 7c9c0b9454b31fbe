// Short circuits: copper heats before any heat leaves it.
#pragma once

#include <optional>

#include "units/quantity.h"

namespace loomproof {

/// Longest duration for which the adiabatic formula is meant (IEC 60364-4-43); longer ones lose heat and bear more.
inline constexpr Second longest_adiabatic{5};

/// k in A s^0.5 / mm2 of copper between two conductor temperatures; 0 when `last` is not above `initial`.
/// k = sqrt(Qc (beta + 20) / rho20 * ln((beta + last) / (beta + initial))), IEC 60949 and IEC 60364-5-54 annex A,
/// with beta 234.5 degC, Qc 3.45e-3 J/(K mm3), rho20 17.241e-6 ohm mm.
double adiabatic_k(Celsius initial, Celsius last);

/// A2s that heats copper of that section from one temperature to the other: k^2 S^2.
double adiabatic_let_through_a2s(SquareMillimetre area, Celsius initial, Celsius last);

/// Seconds for which the section bears the current: k^2 S^2 / I^2; infinite at no current.
Second adiabatic_time(SquareMillimetre area, Ampere current, Celsius initial, Celsius last);

/// Conductor temperature after that let-through, from the same formula turned round.
/// @return nullopt when copper would have melted
std::optional<Celsius> adiabatic_temperature(SquareMillimetre area, double let_through_a2s, Celsius initial);

/// Smallest section that bears the current for that time.
SquareMillimetre adiabatic_area(Ampere current, Second duration, Celsius initial, Celsius last);

}  // namespace loomproof
