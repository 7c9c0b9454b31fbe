// Exponential Rosenbrock-Euler steps (second order, exact for a linear wire) of the two-node wire.
#include "solve/transient_heat.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "solve/circle.h"

namespace loomproof {
namespace {

constexpr double copper_j_per_m3_k = 3.45e6;       // IEC 60949
constexpr double copper_ohm_mm2_per_m = 0.017241;  // IACS
constexpr double strand_lay = 1.02;                // as units/conductor.h has it

// (e^(l t) - 1) / l, also at l = 0.
double grown(double l, double t_s) {
  return std::abs(l * t_s) < 1e-9 ? t_s : std::expm1(l * t_s) / l;
}

}  // namespace

double copper_heat_j_per_m_k(const WireBuild& build) {
  const double proven_mm2 = copper_ohm_mm2_per_m * strand_lay / build.ohm_per_metre;
  return copper_j_per_m3_k * 1e-6 * std::min(build.area.value, proven_mm2);
}

double insulation_heat_j_per_m_k(const WireBuild& build) {
  return build.volumetric_heat_j_per_m3_k * 1e-6 *
         (circle_mm2(build.outside_diameter_mm) - circle_mm2(build.conductor_diameter_mm));
}

double van_wormer(const WireBuild& build) {
  const double ratio = build.outside_diameter_mm / build.conductor_diameter_mm;
  return 1 / (2 * std::log(ratio)) - 1 / (ratio * ratio - 1);
}

WireTransient transient_of(const WireBuild& build, Celsius ambient) {
  const double wall_k_m_per_w = insulation_k_m_per_w(build);
  const double p = van_wormer(build);
  return {.copper_j_per_m_k = copper_heat_j_per_m_k(build),
          .insulation_j_per_m_k = insulation_heat_j_per_m_k(build),
          .inner_k_m_per_w = (1 - p) * wall_k_m_per_w,
          .outer_k_m_per_w = p * wall_k_m_per_w,
          .ohm_per_metre = build.ohm_per_metre,
          .outside = outside_of(build, ambient)};
}

WireState state_of(const WireTransient& wire, double conductor_c, double insulation_c) {
  WireState state{.conductor_c = conductor_c, .insulation_c = insulation_c, .surface_c = insulation_c, .out = {}};
  for (int i = 0; i < 30; ++i) {
    state.out = heat_from(wire.outside, state.surface_c);
    const double miss_k = state.surface_c + wire.outer_k_m_per_w * state.out.heat_w_per_m - insulation_c;
    const double step_k = miss_k / (1 + wire.outer_k_m_per_w * state.out.slope_w_per_m_k);
    state.surface_c -= step_k;
    state.out.heat_w_per_m -= state.out.slope_w_per_m_k * step_k;
    if (std::abs(step_k) < 1e-4) break;
  }
  return state;
}

WireState settled_at(const WireTransient& wire, double conductor_c) {
  const double wall_k_m_per_w = wire.inner_k_m_per_w + wire.outer_k_m_per_w;
  double surface_c = conductor_c;
  WireState state{.conductor_c = conductor_c, .insulation_c = 0, .surface_c = 0, .out = {}};
  for (int i = 0; i < 30; ++i) {
    state.out = heat_from(wire.outside, surface_c);
    const double miss_k = surface_c + wall_k_m_per_w * state.out.heat_w_per_m - conductor_c;
    const double step_k = miss_k / (1 + wall_k_m_per_w * state.out.slope_w_per_m_k);
    surface_c -= step_k;
    state.out.heat_w_per_m -= state.out.slope_w_per_m_k * step_k;
    if (std::abs(step_k) < 1e-4) break;
  }
  state.surface_c = surface_c;
  state.insulation_c = surface_c + wire.outer_k_m_per_w * state.out.heat_w_per_m;
  return state;
}

// Cc dTc/dt = I^2 R(Tc) - (Tc - Ti)/r1        Ci dTi/dt = (Tc - Ti)/r1 - G(Ti)
// G(Ti) is the surface's heat through r2: G' = q' / (1 + r2 q').
LinearHeat linear_heat(const WireTransient& wire, const WireState& state, double current_a) {
  const double i2r20 = current_a * current_a * wire.ohm_per_metre;
  const double g1 = 1 / wire.inner_k_m_per_w;
  const double cc = wire.copper_j_per_m_k;
  const double ci = wire.insulation_j_per_m_k;
  const double g_slope = state.out.slope_w_per_m_k / (1 + wire.outer_k_m_per_w * state.out.slope_w_per_m_k);

  const double inward = g1 * (state.conductor_c - state.insulation_c);
  const double f_c = (i2r20 * (1 + copper_alpha_per_k * (state.conductor_c - 20)) - inward) / cc;
  const double f_i = (inward - state.out.heat_w_per_m) / ci;

  LinearHeat heat;
  const double a = (i2r20 * copper_alpha_per_k - g1) / cc;
  const double b = g1 / cc;
  const double c = g1 / ci;
  const double d = -(g1 + g_slope) / ci;
  heat.jacobian[0][0] = a;
  heat.jacobian[0][1] = b;
  heat.jacobian[1][0] = c;
  heat.jacobian[1][1] = d;
  const double middle = (a + d) / 2;
  const double half = std::sqrt((a - d) * (a - d) / 4 + b * c);
  heat.l1 = middle + half;
  heat.l2 = middle - half;
  const double scale = 1 / (2 * half);
  heat.conductor_1 = ((a - heat.l2) * f_c + b * f_i) * scale;
  heat.conductor_2 = f_c - heat.conductor_1;
  heat.insulation_1 = (c * f_c + (d - heat.l2) * f_i) * scale;
  heat.insulation_2 = f_i - heat.insulation_1;
  return heat;
}

double conductor_after(const WireState& state, const LinearHeat& heat, double t_s) {
  return state.conductor_c + heat.conductor_1 * grown(heat.l1, t_s) + heat.conductor_2 * grown(heat.l2, t_s);
}

double conductor_rate_after(const LinearHeat& heat, double t_s) {
  return heat.conductor_1 * std::exp(heat.l1 * t_s) + heat.conductor_2 * std::exp(heat.l2 * t_s);
}

// One look at the surface a step: it is guessed along the old slope and mended once along the new one. The error is the
// heat by which the true surface departs from the linear one, over what holds the temperature back.
HeatStep step_heat(const WireTransient& wire, const WireState& state, const LinearHeat& heat, double step_s) {
  const double grown_1 = grown(heat.l1, step_s);
  const double grown_2 = grown(heat.l2, step_s);
  const double rise_k = heat.insulation_1 * grown_1 + heat.insulation_2 * grown_2;
  const double r2 = wire.outer_k_m_per_w;
  const double along = 1 / (1 + r2 * state.out.slope_w_per_m_k);

  HeatStep step;
  step.end.conductor_c = state.conductor_c + heat.conductor_1 * grown_1 + heat.conductor_2 * grown_2;
  step.end.insulation_c = state.insulation_c + rise_k;
  step.end.surface_c = state.surface_c + rise_k * along;
  step.end.out = heat_from(wire.outside, step.end.surface_c);
  const double mend_k = (step.end.insulation_c - step.end.surface_c - r2 * step.end.out.heat_w_per_m) /
                        (1 + r2 * step.end.out.slope_w_per_m_k);
  step.end.surface_c += mend_k;
  step.end.out.heat_w_per_m += step.end.out.slope_w_per_m_k * mend_k;

  const double g_slope = state.out.slope_w_per_m_k * along;
  const double departed_w = std::abs(step.end.out.heat_w_per_m - state.out.heat_w_per_m - g_slope * rise_k);
  step.error_k = departed_w / (g_slope + 3 * wire.insulation_j_per_m_k / step_s);
  return step;
}

double first_step_s(const WireTransient& wire, const WireState& state, double current_a) {
  constexpr double first_rise_k = 10;
  const double heat_w =
      current_a * current_a * wire.ohm_per_metre * (1 + copper_alpha_per_k * (state.conductor_c - 20));
  const double whole_j_per_k = wire.copper_j_per_m_k + wire.insulation_j_per_m_k;
  return whole_j_per_k * first_rise_k / (std::abs(heat_w - state.out.heat_w_per_m) + 0.1 * heat_w + 1e-9);
}

double step_factor(double error_k, double tolerance_k) {
  if (!std::isfinite(error_k)) return 0.15;
  return std::clamp(0.9 * std::sqrt(tolerance_k / std::max(error_k, 1e-12)), 0.15, 6.0);
}

}  // namespace loomproof
