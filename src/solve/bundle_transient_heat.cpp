// A bundle over time.
#include "solve/bundle_transient_heat.h"

#include <algorithm>
#include <cmath>

#include "solve/transient_heat.h"

namespace loomproof {
namespace {

constexpr double bundle_step_error_k = 0.05;

// Heat from the core through `inside_k_m_per_w` to a cylinder's surface, with its slope in the core's temperature.
SurfaceHeat heat_through(double inside_k_m_per_w, const CylinderInAir& outside, double core_c) {
  double surface_c = core_c;
  SurfaceHeat out;
  for (int i = 0; i < 30; ++i) {
    out = heat_from(outside, surface_c);
    const double step_k =
        (surface_c + inside_k_m_per_w * out.heat_w_per_m - core_c) / (1 + inside_k_m_per_w * out.slope_w_per_m_k);
    surface_c -= step_k;
    out.heat_w_per_m -= out.slope_w_per_m_k * step_k;
    if (std::abs(step_k) < 1e-3) break;
  }
  out.slope_w_per_m_k /= 1 + inside_k_m_per_w * out.slope_w_per_m_k;
  return out;
}

// Rates of change and their Jacobian, which is an arrow: wires meet only at the core.
//   Cu_i dT_i/dt = I_i^2 R_i(T_i) - (T_i - E_i)/r_i,   E_i = T - (1 - place_i) r_core W(T)
//   C dT/dt = sum (T_i - E_i)/r_i - W(T)
struct Rates {
  BundleState rate;
  Eigen::VectorXd own, from_core, to_core;
  double core = 0;
};

void rates_at(const BundleTransient& body, const BundleLoad& load, const BundleState& state, bool jacobian, Rates& r) {
  const auto n = static_cast<Eigen::Index>(load.i2r20_w_per_m.size());
  const double core_c = state[n];
  const SurfaceHeat out = bundle_heat_out(body, load, core_c);
  r.rate.resize(n + 1);
  if (jacobian) {
    r.own.resize(n);
    r.from_core.resize(n);
    r.to_core.resize(n);
  }
  double gained_w = -out.heat_w_per_m;
  double gained_slope = -out.slope_w_per_m_k;
  for (Eigen::Index i = 0; i < n; ++i) {
    const auto w = static_cast<std::size_t>(i);
    const double off = (1 - load.places[w]) * load.core_k_m_per_w;
    const double g = 1 / body.wall_k_m_per_w[w];
    const double flow_w = (state[i] - core_c + off * out.heat_w_per_m) * g;
    const double flow_slope = (-1 + off * out.slope_w_per_m_k) * g;  // in the core's temperature
    const double cu = body.copper_j_per_m_k[w];
    r.rate[i] = (load.i2r20_w_per_m[w] * (1 + copper_alpha_per_k * (state[i] - 20)) - flow_w) / cu;
    gained_w += flow_w;
    gained_slope += flow_slope;
    if (jacobian) {
      r.own[i] = (load.i2r20_w_per_m[w] * copper_alpha_per_k - g) / cu;
      r.from_core[i] = -flow_slope / cu;
      r.to_core[i] = g / body.core_j_per_m_k;
    }
  }
  r.rate[n] = gained_w / body.core_j_per_m_k;
  r.core = gained_slope / body.core_j_per_m_k;
}

// (I - s J) x = b for the arrow.
BundleState solve_arrow(const Rates& r, double s, const BundleState& b) {
  const Eigen::Index n = r.own.size();
  double pivot = 1 - s * r.core;
  double right = b[n];
  for (Eigen::Index i = 0; i < n; ++i) {
    const double held = s * r.to_core[i] / (1 - s * r.own[i]);
    pivot -= held * s * r.from_core[i];
    right += held * b[i];
  }
  BundleState x(n + 1);
  x[n] = right / pivot;
  for (Eigen::Index i = 0; i < n; ++i) x[i] = (b[i] + s * r.from_core[i] * x[n]) / (1 - s * r.own[i]);
  return x;
}

}  // namespace

SurfaceHeat bundle_heat_out(const BundleTransient& body, const BundleLoad& load, double core_c) {
  const SurfaceHeat bare = heat_through(load.core_k_m_per_w, body.bundle, core_c);
  if (body.sleeve_k_m_per_w == 0) return bare;
  const SurfaceHeat sleeved = heat_through(load.core_k_m_per_w + body.sleeve_k_m_per_w, body.sleeve, core_c);
  return sleeved.heat_w_per_m < bare.heat_w_per_m ? sleeved : bare;
}

// ROS2 (Verwer et al. 1999): second order, L-stable for gamma = 1 - 1/sqrt 2; the error is the distance to first order.
bool march_bundle(const BundleTransient& body, const BundleLoad& load, double duration_s, BundleState& state,
                  const std::function<void(double, const BundleState&)>& seen) {
  constexpr double gamma = 0.29289321881345254;
  Rates here, ahead;
  double done_s = 0;
  double step_s = std::min(duration_s, 0.2);
  while (done_s < duration_s) {
    rates_at(body, load, state, true, here);
    BundleState next;
    bool last = false;
    for (;;) {
      last = step_s >= duration_s - done_s;
      if (last) step_s = duration_s - done_s;
      const double s = gamma * step_s;
      const BundleState k1 = solve_arrow(here, s, here.rate);
      rates_at(body, load, state + step_s * k1, false, ahead);
      const BundleState k2 = solve_arrow(here, s, ahead.rate - 2 * k1);
      next = state + step_s * (1.5 * k1 + 0.5 * k2);
      const double error_k = 0.5 * step_s * (k1 + k2).lpNorm<Eigen::Infinity>();
      if (!(error_k < 1e6)) return false;
      const double factor = step_factor(error_k, bundle_step_error_k);
      if (error_k <= bundle_step_error_k) {
        state = next;
        done_s += step_s;
        if (seen) seen(done_s, state);
        step_s *= factor;
        break;
      }
      step_s *= factor;
    }
    if (!(state.maxCoeff() <= copper_melting_point.value)) return false;
    if (last) break;
  }
  return true;
}

}  // namespace loomproof
