// The kernel of a bundle over time: loaded wires' copper around the core of one body, stepped implicitly.
#pragma once

#include <functional>
#include <span>
#include <vector>

#include <Eigen/Core>

#include "solve/bundle_heat.h"

namespace loomproof {

/// Temperatures in degC of the loaded wires' copper, in order, then of the body's core.
using BundleState = Eigen::VectorXd;

/// What does not change over a ride; vectors have one entry a loaded wire.
struct BundleTransient {
  std::vector<double> wall_k_m_per_w;    ///< own insulation
  std::vector<double> copper_j_per_m_k;  ///< own copper
  double core_j_per_m_k = 0;             ///< all insulation and idle copper, per kelvin of the core
  CylinderInAir bundle, sleeve;          ///< outsides
  double sleeve_k_m_per_w = 0;
};

/// One load of the bundle, and what the inside does to it; vectors have one entry a loaded wire.
struct BundleLoad {
  std::vector<double> i2r20_w_per_m;  ///< I^2 R at 20 degC
  std::vector<double> places;         ///< share of the core's rise that a wire lies at, 1 for the middle
  double core_k_m_per_w = 0;          ///< core to around the wires
};

/// Heat from the core to the air, without or with the sleeve, whichever is less: a sleeve is never credited with
/// cooling. The slope is in the core's temperature.
SurfaceHeat bundle_heat_out(const BundleTransient& body, const BundleLoad& load, double core_c);

/// Steps through a load with error control. `seen(seconds since the load began, state)` is called for each step.
/// False when a conductor melts or the load runs away.
bool march_bundle(const BundleTransient& body, const BundleLoad& load, double duration_s, BundleState& state,
                  const std::function<void(double, const BundleState&)>& seen);

}  // namespace loomproof
