// One wire over time.
#include "solve/heat_over_time.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "solve/insulation.h"
#include "solve/short_circuit_heat.h"

namespace loomproof {
namespace {

constexpr double wire_step_error_k = 0.01;
constexpr double settled_k = 1e-3;
constexpr int most_cycles = 400;
constexpr double shortest_step_s = 1e-9;  // taken whatever its error, so that every march ends
constexpr double infinite_s = std::numeric_limits<double>::infinity();

// Steps through a constant current. `seen(state, heat, from_s, step_s)` is called for each accepted step.
// False when the copper melts.
template <class Seen>
bool march(const WireTransient& wire, WireState& state, double current_a, double duration_s, Seen&& seen) {
  double done_s = 0;
  double step_s = first_step_s(wire, state, current_a);
  while (done_s < duration_s) {
    const LinearHeat heat = linear_heat(wire, state, current_a);
    const double left_s = duration_s - done_s;
    if (heat.l1 > 0) step_s = std::min(step_s, 1 / heat.l1);
    HeatStep step;
    bool last = false;
    for (;;) {
      last = step_s >= left_s;
      if (last) step_s = left_s;
      step = step_heat(wire, state, heat, step_s);
      if (step.error_k <= wire_step_error_k || step_s < shortest_step_s) break;
      step_s *= step_factor(step.error_k, wire_step_error_k);
    }
    seen(state, heat, done_s, step_s);
    state = step.end;
    if (!(state.conductor_c <= copper_melting_point.value)) return false;
    if (last) return true;
    done_s += step_s;
    step_s *= step_factor(step.error_k, wire_step_error_k);
  }
  return true;
}

// How a small difference in (conductor, insulation) at the ride's start is carried to its end.
struct Carry {
  double m[2][2] = {{1, 0}, {0, 1}};

  void through(const LinearHeat& heat, double step_s) {
    const double e1 = std::exp(heat.l1 * step_s);
    const double e2 = std::exp(heat.l2 * step_s);
    const double slope = (e1 - e2) / (heat.l1 - heat.l2);
    const double p[2][2] = {{e2 + slope * (heat.jacobian[0][0] - heat.l2), slope * heat.jacobian[0][1]},
                            {slope * heat.jacobian[1][0], e2 + slope * (heat.jacobian[1][1] - heat.l2)}};
    const double old[2][2] = {{m[0][0], m[0][1]}, {m[1][0], m[1][1]}};
    for (int i = 0; i < 2; ++i) {
      for (int j = 0; j < 2; ++j) m[i][j] = p[i][0] * old[0][j] + p[i][1] * old[1][j];
    }
  }
};

// The start state that the ride brings back: Newton's method on end(start) - start with the carried differences.
std::optional<WireState> periodic_start(const WireBuild& build, const WireTransient& wire,
                                        std::span<const RideStep> ride, Celsius ambient) {
  double i2t = 0;
  double whole_s = 0;
  for (const RideStep& step : ride) {
    if (!(step.duration.value > 0) || !std::isfinite(step.duration.value)) return std::nullopt;
    if (!std::isfinite(step.current.value)) return std::nullopt;
    i2t += step.current.value * step.current.value * step.duration.value;
    whole_s += step.duration.value;
  }
  if (!(whole_s > 0)) return std::nullopt;

  const auto mean = steady_temperature(build, Ampere(std::sqrt(i2t / whole_s)), ambient);
  WireState start = settled_at(wire, mean.value_or(ambient).value);
  WireState walked = start;  // the last end that was reached by riding, not by extrapolation
  bool extrapolate = true;
  for (int cycle = 0; cycle < most_cycles; ++cycle) {
    WireState end = start;
    Carry carry;
    const auto seen = [&](const WireState&, const LinearHeat& heat, double, double step_s) {
      carry.through(heat, step_s);
    };
    const bool whole = std::ranges::all_of(
        ride, [&](const RideStep& step) { return march(wire, end, step.current.value, step.duration.value, seen); });
    if (!whole) {
      if (!extrapolate || cycle == 0) return std::nullopt;
      extrapolate = false;  // melted from a guessed start: go on by riding alone
      start = walked;
      continue;
    }
    walked = end;
    const double miss_c = end.conductor_c - start.conductor_c;
    const double miss_i = end.insulation_c - start.insulation_c;
    const double a = 1 - carry.m[0][0], b = -carry.m[0][1], c = -carry.m[1][0], d = 1 - carry.m[1][1];
    const double det = a * d - b * c;
    const double step_c = (d * miss_c - b * miss_i) / det;
    const double step_i = (a * miss_i - c * miss_c) / det;
    if (det > 0 && std::max(std::abs(step_c), std::abs(step_i)) < settled_k) return end;
    start = extrapolate && det > 0 ? state_of(wire, start.conductor_c + step_c, start.insulation_c + step_i) : end;
  }
  return std::nullopt;
}

bool has_wall(const WireBuild& build) {
  return build.outside_diameter_mm > build.conductor_diameter_mm;
}

// Seconds within the step until the conductor is at the limit, given that it is there at the step's end.
double crossing_s(const WireState& state, const LinearHeat& heat, double limit_c, double step_s) {
  double low_s = 0;
  double high_s = step_s;
  double t_s = step_s * (limit_c - state.conductor_c) / (conductor_after(state, heat, step_s) - state.conductor_c);
  for (int i = 0; i < 60; ++i) {
    const double miss_k = conductor_after(state, heat, t_s) - limit_c;
    (miss_k > 0 ? high_s : low_s) = t_s;
    const double next_s = t_s - miss_k / conductor_rate_after(heat, t_s);
    const double kept_s = next_s > low_s && next_s < high_s ? next_s : 0.5 * (low_s + high_s);
    const double moved_s = std::abs(kept_s - t_s);
    t_s = kept_s;
    if (moved_s < 1e-6 * t_s) break;
  }
  return t_s;
}

}  // namespace

std::optional<RideHeat> periodic_peak(const WireBuild& build, std::span<const RideStep> ride, Celsius ambient) {
  if (!has_wall(build)) return std::nullopt;
  const WireTransient wire = transient_of(build, ambient);
  const std::optional<WireState> start = periodic_start(build, wire, ride, ambient);
  if (!start) return std::nullopt;

  WireState state = *start;
  RideHeat hottest{.peak = Celsius(-infinite_s), .step = 0, .moment = Second(0)};
  double begun_s = 0;
  for (std::size_t i = 0; i < ride.size(); ++i) {
    const auto look = [&](double conductor_c, double moment_s) {
      if (conductor_c > hottest.peak.value) hottest = {Celsius(conductor_c), i, Second(moment_s)};
    };
    // Within a step the two exponentials have one turning point at most.
    const auto seen = [&](const WireState& at, const LinearHeat& heat, double from_s, double step_s) {
      const double turn = -heat.conductor_2 / heat.conductor_1;
      if (turn > 0) {
        const double turn_s = std::log(turn) / (heat.l1 - heat.l2);
        if (turn_s > 0 && turn_s < step_s) look(conductor_after(at, heat, turn_s), begun_s + from_s + turn_s);
      }
      look(conductor_after(at, heat, step_s), begun_s + from_s + step_s);
    };
    if (!march(wire, state, ride[i].current.value, ride[i].duration.value, seen)) return std::nullopt;
    begun_s += ride[i].duration.value;
  }
  return hottest;
}

std::vector<HeatSample> periodic_trace(const WireBuild& build, std::span<const RideStep> ride, Celsius ambient,
                                       std::size_t points) {
  if (!has_wall(build) || points < 2) return {};
  const WireTransient wire = transient_of(build, ambient);
  const std::optional<WireState> start = periodic_start(build, wire, ride, ambient);
  if (!start) return {};

  double whole_s = 0;
  for (const RideStep& step : ride) whole_s += step.duration.value;
  const double apart_s = whole_s / static_cast<double>(points - 1);
  std::vector<HeatSample> trace{{Second(0), Celsius(start->conductor_c)}};
  WireState state = *start;
  double begun_s = 0;
  for (const RideStep& step : ride) {
    const auto seen = [&](const WireState& at, const LinearHeat& heat, double from_s, double step_s) {
      while (trace.size() + 1 < points) {
        const double moment_s = static_cast<double>(trace.size()) * apart_s;
        if (moment_s > begun_s + from_s + step_s) break;
        trace.push_back({Second(moment_s), Celsius(conductor_after(at, heat, moment_s - begun_s - from_s))});
      }
    };
    if (!march(wire, state, step.current.value, step.duration.value, seen)) return {};
    begun_s += step.duration.value;
  }
  trace.push_back({Second(whole_s), Celsius(state.conductor_c)});
  return trace;
}

std::optional<Celsius> temperature_after(const WireBuild& build, Ampere current, Second duration, Celsius start,
                                         Celsius ambient) {
  if (!has_wall(build) || !std::isfinite(current.value)) return std::nullopt;
  const WireTransient wire = transient_of(build, ambient);
  WireState state = settled_at(wire, start.value);
  const auto seen = [](const WireState&, const LinearHeat&, double, double) {};
  if (!march(wire, state, current.value, duration.value, seen)) return std::nullopt;
  return Celsius(state.conductor_c);
}

namespace {

// A wire on its way up. From a settled start below the limit, with more current than the limit's ampacity, it only ever
// heats.
struct Climb {
  WireState state;
  double done_s = 0;
  double step_s = 0;
  int steps = 0;

  // Seconds until the limit. Where the way passes a lower limit, what stood before the step that does is kept.
  Second to(const WireTransient& wire, double current_a, double limit_c, double lower_c = infinite_s,
            std::optional<Climb>* below_lower = nullptr) {
    for (; steps < 10000; ++steps) {
      const LinearHeat heat = linear_heat(wire, state, current_a);
      if (heat.l1 > 0) step_s = std::min(step_s, 1 / heat.l1);
      HeatStep step = step_heat(wire, state, heat, step_s);
      if (step.end.conductor_c >= lower_c && !*below_lower) *below_lower = *this;
      const bool reached = step.end.conductor_c >= limit_c;
      if (reached) {
        step_s = crossing_s(state, heat, limit_c, step_s);
        step = step_heat(wire, state, heat, step_s);
      }
      if (step.error_k > wire_step_error_k && step_s > shortest_step_s) {
        step_s *= step_factor(step.error_k, wire_step_error_k);
        continue;
      }
      done_s += step_s;
      if (reached) return Second(done_s);
      state = step.end;
      step_s *= step_factor(step.error_k, wire_step_error_k);
    }
    return Second(done_s);  // so near the ampacity that it creeps; the time so far is the demanding answer
  }
};

Climb climb_from(const WireTransient& wire, const WireState& start, Ampere current) {
  return {.state = start, .step_s = first_step_s(wire, start, current.value)};
}

}  // namespace

Second time_to_temperature(const WireBuild& build, Ampere current, Celsius start, Celsius ambient, Celsius limit) {
  if (start >= limit || !std::isfinite(current.value)) return Second(0);
  if (std::abs(current.value) <= ampacity(build, limit, ambient).value) return Second(infinite_s);
  if (!has_wall(build)) return adiabatic_time(build.area, current, start, limit);
  const WireTransient wire = transient_of(build, ambient);
  return climb_from(wire, settled_at(wire, start.value), current).to(wire, current.value, limit.value);
}

std::optional<WireEndurance> wire_endurance(SquareMillimetre area, std::string_view insulation, Celsius start,
                                            Celsius ambient) {
  const std::optional<WireBuild> build = wire_build(area, insulation);
  const std::optional<Insulation> material = find_insulation(insulation);
  if (!build || !material) return std::nullopt;
  return WireEndurance{.build = *build,
                       .start = start,
                       .ambient = ambient,
                       .overload_limit = material->overload_limit,
                       .short_circuit_limit = material->short_circuit_limit};
}

DamageTimes::DamageTimes(const WireEndurance& curve)
    : curve_(curve),
      bears_overload_(ampacity(curve.build, curve.overload_limit, curve.ambient)),
      bears_short_circuit_(ampacity(curve.build, curve.short_circuit_limit, curve.ambient)) {
  if (!has_wall(curve.build)) return;
  wire_ = transient_of(curve.build, curve.ambient);
  start_ = settled_at(*wire_, curve.start.value);
}

Second DamageTimes::operator()(Ampere current) const {
  const Celsius overload = curve_.overload_limit, short_circuit = curve_.short_circuit_limit;
  if (!std::isfinite(current.value) || curve_.start >= short_circuit) return Second(0);
  Second until_short_circuit(infinite_s);
  std::optional<Climb> below_overload;
  if (std::abs(current.value) > bears_short_circuit_.value) {
    until_short_circuit = wire_ ? climb_from(*wire_, start_, current)
                                      .to(*wire_, current.value, short_circuit.value, overload.value, &below_overload)
                                : adiabatic_time(curve_.build.area, current, curve_.start, short_circuit);
    if (until_short_circuit <= longest_adiabatic) return until_short_circuit;
  }
  Second until_overload(infinite_s);
  if (curve_.start >= overload) {
    until_overload = Second(0);
  } else if (std::abs(current.value) > bears_overload_.value) {
    if (wire_ && !below_overload) below_overload = climb_from(*wire_, start_, current);
    until_overload = wire_ ? below_overload->to(*wire_, current.value, overload.value)
                           : adiabatic_time(curve_.build.area, current, curve_.start, overload);
  }
  return std::min(until_short_circuit, until_overload + longest_adiabatic);
}

Ampere harmless_current(const WireEndurance& curve) {
  return ampacity(curve.build, curve.overload_limit, curve.ambient);
}

}  // namespace loomproof
