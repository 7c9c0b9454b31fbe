// Heat balance of one wire alone.
#include "solve/wire_heat.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "solve/insulation.h"
#include "units/conductor.h"

namespace loomproof {
namespace {

// Newton's error after a step is about the square of the step over the rise, so this leaves far below a microkelvin.
constexpr double last_step_k = 1e-3;
constexpr int most_steps = 60;

// Ts + R q(Ts) = T, from the warm side: the left side is convex, so Newton comes down without overshoot.
double surface_c_of(double insulation_k_m_per_w_, const CylinderInAir& outside, double conductor_c) {
  double surface_c = conductor_c;
  for (int i = 0; i < most_steps; ++i) {
    const SurfaceHeat out = heat_from(outside, surface_c);
    const double miss_k = surface_c + insulation_k_m_per_w_ * out.heat_w_per_m - conductor_c;
    const double step_k = miss_k / (1 + insulation_k_m_per_w_ * out.slope_w_per_m_k);
    surface_c -= step_k;
    if (std::abs(step_k) < last_step_k) break;
  }
  return surface_c;
}

}  // namespace

std::optional<WireBuild> wire_build(SquareMillimetre area, std::string_view insulation) {
  const std::optional<Insulation> material = find_insulation(insulation);
  if (!material || !(area.value > 0)) return std::nullopt;
  return WireBuild{.area = area,
                   .conductor_diameter_mm = conductor_diameter_mm(area),
                   .outside_diameter_mm = cable_diameter_mm(area),
                   .conductivity_w_per_m_k = material->conductivity_w_per_m_k,
                   .emissivity = material->emissivity,
                   .volumetric_heat_j_per_m3_k = material->volumetric_heat_j_per_m3_k,
                   .ohm_per_metre = copper_ohm_per_metre(area, Celsius(20)),
                   .rated = std::nullopt};
}

double insulation_k_m_per_w(const WireBuild& build) {
  if (build.outside_diameter_mm <= build.conductor_diameter_mm) return 0;
  return std::log(build.outside_diameter_mm / build.conductor_diameter_mm) /
         (2 * std::numbers::pi * build.conductivity_w_per_m_k);
}

double ohm_per_metre_at(const WireBuild& build, Celsius conductor) {
  return build.ohm_per_metre * (1 + copper_alpha_per_k * (conductor.value - 20));
}

CylinderInAir outside_of(const WireBuild& build, Celsius ambient) {
  return {.diameter_m = build.outside_diameter_mm * 1e-3, .emissivity = build.emissivity, .ambient_c = ambient.value};
}

Celsius surface_temperature(const WireBuild& build, Celsius conductor, Celsius ambient) {
  return Celsius(surface_c_of(insulation_k_m_per_w(build), outside_of(build, ambient), conductor.value));
}

double heat_out_w_per_m(const WireBuild& build, Celsius conductor, Celsius ambient) {
  const CylinderInAir outside = outside_of(build, ambient);
  return heat_from(outside, surface_c_of(insulation_k_m_per_w(build), outside, conductor.value)).heat_w_per_m;
}

// With g = I^2 R20 and T = Ts + Ri q(Ts) the balance is an equation in the surface temperature alone:
//   F(Ts) = q(Ts) (1 - g alpha Ri) - g (1 + alpha (Ts - 20)) = 0
// q is convex, so F has one root above the air, and Newton comes down to it from the warm side.
std::optional<Celsius> steady_temperature(const WireBuild& build, Ampere current, Celsius ambient) {
  const double g = current.value * current.value * build.ohm_per_metre;
  if (!(g > 0)) return g == 0 ? std::optional(ambient) : std::nullopt;
  const double ri = insulation_k_m_per_w(build);
  const double kept = 1 - g * copper_alpha_per_k * ri;
  if (kept <= 0) return std::nullopt;  // the wire's own resistance rises faster than heat gets through the insulation

  const CylinderInAir outside = outside_of(build, ambient);
  const double guess_w_per_m2_k = 10 + 0.03 / outside.diameter_m;
  double surface_c =
      ambient.value + std::min(1.2 * g / (std::numbers::pi * outside.diameter_m * guess_w_per_m2_k), 600.0);
  for (int i = 0; i < most_steps; ++i) {
    const SurfaceHeat out = heat_from(outside, surface_c);
    const double f = out.heat_w_per_m * kept - g * (1 + copper_alpha_per_k * (surface_c - 20));
    const double f_slope = out.slope_w_per_m_k * kept - g * copper_alpha_per_k;
    if (surface_c >= copper_melting_point.value && f < 0) return std::nullopt;
    const double step_k = f_slope > 0 ? f / f_slope : -(surface_c - ambient.value + 50);
    surface_c = std::min(surface_c - step_k, copper_melting_point.value);
    if (std::abs(step_k) < last_step_k) {
      const double conductor_c = surface_c + ri * (out.heat_w_per_m - out.slope_w_per_m_k * step_k);
      if (conductor_c > copper_melting_point.value) return std::nullopt;
      return Celsius(conductor_c);
    }
  }
  return std::nullopt;
}

Ampere ampacity(const WireBuild& build, Celsius limit, Celsius ambient) {
  if (limit <= ambient) return Ampere(0);
  return Ampere(std::sqrt(heat_out_w_per_m(build, limit, ambient) / ohm_per_metre_at(build, limit)));
}

Ampere allowed_current(const WireBuild& build, Celsius limit, Celsius ambient) {
  return default_allowance * ampacity(build, limit, ambient);
}

std::optional<Celsius> judged_temperature(const WireBuild& build, Ampere current, Celsius ambient) {
  return steady_temperature(build, judged(current), ambient);
}

}  // namespace loomproof
