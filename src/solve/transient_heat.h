// The kernel of heat over time: one wire as copper and insulation, stepped by closed linear solutions.
#pragma once

#include "solve/wire_heat.h"

namespace loomproof {

/// Copper - resistance - insulation - resistance - surface in air. The insulation's heat capacity sits where the mean
/// temperature of its wall is: van Wormer's fraction p = 1 / (2 ln(D/d)) - 1 / ((D/d)^2 - 1) above the surface (IEC
/// 60853-2). The copper stands alone, so that short times are adiabatic in copper, as IEC 60949 has them.
struct WireTransient {
  double copper_j_per_m_k = 0;
  double insulation_j_per_m_k = 0;
  double inner_k_m_per_w = 0;  ///< copper to mean insulation
  double outer_k_m_per_w = 0;  ///< mean insulation to surface
  double ohm_per_metre = 0;    ///< at 20 degC
  CylinderInAir outside;
};

/// @param build  must have an insulation wall (outside diameter above conductor diameter)
/// Copper counts with the smaller of its nominal section and what its resistance proves (lay of strands 2 %).
WireTransient transient_of(const WireBuild& build, Celsius ambient);

/// J/K of one metre of the build's copper, and of its insulation.
double copper_heat_j_per_m_k(const WireBuild& build);
double insulation_heat_j_per_m_k(const WireBuild& build);

/// Van Wormer's fraction of the build's wall, between 0 and 1/2.
double van_wormer(const WireBuild& build);

/// Temperatures at a moment; `out` is what leaves the surface then.
struct WireState {
  double conductor_c = 0;
  double insulation_c = 0;
  double surface_c = 0;
  SurfaceHeat out;
};

/// The state of a wire that has long held its conductor at that temperature.
WireState settled_at(const WireTransient& wire, double conductor_c);

/// The state with given conductor and insulation temperatures.
WireState state_of(const WireTransient& wire, double conductor_c, double insulation_c);

/// Solution with the surface's heat taken as linear about a state: T(t) = T0 + a1 (e^(l1 t) - 1)/l1 + a2 (e^(l2 t) -
/// 1)/l2 for conductor and insulation. The heat made, I^2 R(T), is linear already.
struct LinearHeat {
  double l1 = 0, l2 = 0;                    ///< 1/s, l1 > l2
  double conductor_1 = 0, conductor_2 = 0;  ///< K/s
  double insulation_1 = 0, insulation_2 = 0;
  double jacobian[2][2] = {};  ///< 1/s
};

LinearHeat linear_heat(const WireTransient& wire, const WireState& state, double current_a);

/// Conductor temperature and its rate `t_s` after the state.
double conductor_after(const WireState& state, const LinearHeat& heat, double t_s);
double conductor_rate_after(const LinearHeat& heat, double t_s);

/// A step's end and an estimate of what the linear surface cost, in kelvin.
struct HeatStep {
  WireState end;
  double error_k = 0;
};

HeatStep step_heat(const WireTransient& wire, const WireState& state, const LinearHeat& heat, double step_s);

/// A first step for error control: about ten kelvin of the whole wire.
double first_step_s(const WireTransient& wire, const WireState& state, double current_a);

/// How much longer or shorter the next step may be.
double step_factor(double error_k, double tolerance_k);

}  // namespace loomproof
