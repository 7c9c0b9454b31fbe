// How hot one wire alone in still air gets, and what it may carry.
#pragma once

#include <optional>
#include <string_view>

#include "solve/heat_air.h"
#include "units/quantity.h"

namespace loomproof {

/// Copper melts; no steady state is looked for above.
inline constexpr Celsius copper_melting_point{1084.6};

/// Temperature coefficient of copper's resistance at 20 degC per kelvin, IEC 60287-1-1.
inline constexpr double copper_alpha_per_k = 0.00393;

/// Tool's allowance between the heat balance and what it lets a wire carry for ever: a factor on current.
///
/// Without it the balance lies from -6 to +11 % about the 41 rows of NEC table 310.17 (mean +4 %), and from +4 to +15 %
/// above 33 CFR 183.425 at 105 degC: still air, a clean wire, no wall near. With 0.90 no current that the tool allows
/// exceeds a row of either by more than 4 %; the test asserts it. (The oldest German column is exceeded by 7 % at 95
/// and 120 mm2; IEC 60364-5-52 rates the same cables above what is allowed here.) ONE definition everywhere: a
/// temperature is *judged* with every current raised by 1/default_allowance (`judged`), so that judged temperature <=
/// limit is the same statement as current <= allowed_current.
inline constexpr double default_allowance = 0.90;

/// The current at which a wire is judged when it carries `carried`.
constexpr Ampere judged(Ampere carried) {
  return carried / default_allowance;
}

/// One single-core cable as heat sees it.
struct WireBuild {
  SquareMillimetre area{};                ///< nominal copper section
  double conductor_diameter_mm = 0;       ///< over the strands
  double outside_diameter_mm = 0;         ///< over the insulation; equal to the conductor's for a bare wire
  double conductivity_w_per_m_k = 0;      ///< of the insulation
  double emissivity = 0;                  ///< of the outside
  double volumetric_heat_j_per_m3_k = 0;  ///< of the insulation
  double ohm_per_metre = 0;               ///< at 20 degC
  std::optional<Volt> rated{};            ///< of the cable, where stated; see assumed_cable_volts
};

/// A vehicle cable of that size (units/conductor.h) with that insulation (solve/insulation.h).
/// @return nullopt when the insulation's name is unknown or the area is not above zero
std::optional<WireBuild> wire_build(SquareMillimetre area, std::string_view insulation);

/// ln(D/d) / (2 pi k): kelvin between conductor and surface per watt of one metre; 0 for a bare wire.
double insulation_k_m_per_w(const WireBuild& build);

/// Resistance of one metre at a conductor temperature.
double ohm_per_metre_at(const WireBuild& build, Celsius conductor);

/// The wire's outside as a cylinder in air of that temperature.
CylinderInAir outside_of(const WireBuild& build, Celsius ambient);

/// Surface temperature at which the wire gives off what flows through its insulation from `conductor`.
Celsius surface_temperature(const WireBuild& build, Celsius conductor, Celsius ambient);

/// W that one metre gives off with its conductor at that temperature; negative when colder than the air.
double heat_out_w_per_m(const WireBuild& build, Celsius conductor, Celsius ambient);

/// Steady conductor temperature of one wire alone in still air.
/// @param current  A, held for ever, the sign does not matter
/// @param ambient  degC of the air beside the wire
/// @return degC at the conductor; nullopt when there is no steady state below copper's melting point
/// Heat balance: I^2 R(T) = (T - Ts) 2 pi k / ln(D/d) = natural convection (Churchill-Chu 1975) + grey radiation at Ts.
std::optional<Celsius> steady_temperature(const WireBuild& build, Ampere current, Celsius ambient);

/// Current that holds the conductor at `limit` for ever: sqrt(heat out at limit / R(limit)); 0 when limit <= ambient.
Ampere ampacity(const WireBuild& build, Celsius limit, Celsius ambient);

/// What the tool lets the wire carry for ever: default_allowance * ampacity.
Ampere allowed_current(const WireBuild& build, Celsius limit, Celsius ambient);

/// steady_temperature at the judged current: at or below the limit exactly when current <= allowed_current.
std::optional<Celsius> judged_temperature(const WireBuild& build, Ampere current, Celsius ambient);

}  // namespace loomproof
