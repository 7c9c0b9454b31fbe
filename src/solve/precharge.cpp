// Integrates the bus voltage during precharge: closed form without constant-power load, Runge-Kutta with it.
#include "solve/precharge.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "solve/infinite.h"

namespace loomproof {
namespace {

// The circuit in plain numbers: everything linear gathered into a source through a conductance.
struct Bus {
  double source_v, total_ohm, resistor_ohm, capacitance_f;
  double conductance_s;  // 1/R + 1/R_L
  double leakage_a, power_w, starts_v, stops_v;

  double settles_v() const { return std::max(0.0, (source_v / total_ohm - leakage_a) / conductance_s); }
  double net_a(double v) const {  // into the capacitance, constant-power load drawing
    return source_v / total_ohm - conductance_s * v - leakage_a - power_w / v;
  }
  double heat_w(double v) const { return std::pow((source_v - v) / total_ohm, 2) * resistor_ohm; }
};

Bus bus_of(const PrechargeCircuit& circuit) {
  Bus bus{};
  bus.source_v = circuit.source.value;
  bus.total_ohm = circuit.source_resistance.value + circuit.resistor.value;
  bus.resistor_ohm = circuit.resistor.value;
  bus.capacitance_f = circuit.capacitance.value;
  bus.conductance_s = 1 / bus.total_ohm + (circuit.load ? 1 / circuit.load->value : 0);
  bus.leakage_a = circuit.leakage.value;
  bus.power_w = circuit.power.value;
  bus.starts_v = circuit.starts_at.value;
  // A load that stops where it starts would switch without end.
  constexpr double least_hysteresis = 0.02;
  bus.stops_v = circuit.stops_at.value > 0 ? std::min(circuit.stops_at.value, bus.starts_v * (1 - least_hysteresis))
                                           : bus.starts_v / 2;
  return bus;
}

struct State {
  double time_s = 0;
  double v = 0;
  double heat_j = 0;  // in the precharge resistor so far
  bool drawing = false;
};

State start_of(const Bus& bus, const PrechargeCircuit& circuit) {
  const double v = circuit.initial.value;
  return {0, v, 0, bus.power_w > 0 && v >= bus.starts_v};
}

// Without constant-power load: v = v_end + d exp(-t/tau), d = v0 - v_end, so i = a - (d/R) exp(-t/tau).
State idle_after(const Bus& bus, State s, double lasts_s) {
  const double tau_s = bus.capacitance_f / bus.conductance_s;
  double end_v = (bus.source_v / bus.total_ohm - bus.leakage_a) / bus.conductance_s;
  if (end_v < 0) {  // leakage empties the bus and then stops drawing
    const double empty_s = s.v > 0 ? tau_s * std::log1p(-s.v / end_v) : 0;
    if (lasts_s > empty_s) {
      s.heat_j += bus.heat_w(0) * (lasts_s - empty_s);
      s.time_s += lasts_s - empty_s;
      lasts_s = empty_s;
      if (empty_s <= 0) {
        s.v = 0;
        return s;
      }
    }
  }
  const double d_v = s.v - end_v, a = (bus.source_v - end_v) / bus.total_ohm, d_a = d_v / bus.total_ohm;
  const double gone = -std::expm1(-lasts_s / tau_s), gone_twice = -std::expm1(-2 * lasts_s / tau_s);
  s.heat_j += bus.resistor_ohm * (a * a * lasts_s - 2 * a * d_a * tau_s * gone + d_a * d_a * tau_s / 2 * gone_twice);
  s.v = std::max(0.0, s.v - d_v * gone);
  s.time_s += lasts_s;
  return s;
}

// Time from s.v to `reached_v` without constant-power load; infinite when it does not pass it.
double idle_time(const Bus& bus, const State& s, double reached_v) {
  const double end_v = bus.settles_v();
  if (s.v >= reached_v) return 0;
  if (end_v <= reached_v) return infinite;
  return bus.capacitance_f / bus.conductance_s * std::log((end_v - s.v) / (end_v - reached_v));
}

// One Dormand-Prince 4(5) step of C dv/dt = net(v) and of the resistor's heat; the error estimate is that of v.
struct Step {
  State to;
  double error_v;
};
Step runge_kutta(const Bus& bus, const State& s, double h_s) {
  const auto slope = [&](double v) { return bus.net_a(std::max(v, 1e-9)) / bus.capacitance_f; };
  static constexpr std::array<std::array<double, 6>, 6> a{
      {{1.0 / 5},
       {3.0 / 40, 9.0 / 40},
       {44.0 / 45, -56.0 / 15, 32.0 / 9},
       {19372.0 / 6561, -25360.0 / 2187, 64448.0 / 6561, -212.0 / 729},
       {9017.0 / 3168, -355.0 / 33, 46732.0 / 5247, 49.0 / 176, -5103.0 / 18656},
       {35.0 / 384, 0, 500.0 / 1113, 125.0 / 192, -2187.0 / 6784, 11.0 / 84}}};
  static constexpr std::array<double, 7> fourth{5179.0 / 57600, 0,       7571.0 / 16695, 393.0 / 640, -92097.0 / 339200,
                                                187.0 / 2100,   1.0 / 40};
  std::array<double, 7> k{}, heat{};
  k[0] = slope(s.v);
  heat[0] = bus.heat_w(s.v);
  double v = s.v;
  for (std::size_t stage = 0; stage < a.size(); ++stage) {
    v = s.v;
    for (std::size_t i = 0; i <= stage; ++i) v += h_s * a[stage][i] * k[i];
    k[stage + 1] = slope(v);
    heat[stage + 1] = bus.heat_w(v);
  }
  double low_v = s.v, heat_j = s.heat_j;
  for (std::size_t i = 0; i < 7; ++i) low_v += h_s * fourth[i] * k[i];
  for (std::size_t i = 0; i < 6; ++i) heat_j += h_s * a[5][i] * heat[i];
  return {{s.time_s + h_s, v, heat_j, s.drawing}, std::fabs(v - low_v)};
}

// With the constant-power load drawing: to `until_s`, or to where the bus passes `low_v` downward or `high_v` upward.
State drawing_after(const Bus& bus, State s, double until_s, double low_v, double high_v) {
  const double tolerance_v = 1e-8 * bus.source_v;
  double h_s = 1e-3 * bus.total_ohm * bus.capacitance_f;
  while (s.time_s < until_s) {
    const double try_s = std::min(h_s, until_s - s.time_s);
    const Step step = runge_kutta(bus, s, try_s);
    const double scale = std::clamp(0.9 * std::pow(tolerance_v / std::max(step.error_v, 1e-300), 0.2), 0.2, 4.0);
    if (step.error_v > tolerance_v && try_s > 1e-15 * until_s) {
      h_s = try_s * scale;
      continue;
    }
    const auto passed = [&](const State& x) { return x.v < low_v || x.v > high_v; };
    if (!passed(step.to)) {
      s = step.to;
      if (try_s == h_s || scale < 1) h_s = try_s * scale;
      if (until_s - s.time_s < 1e-12 * until_s) s.time_s = until_s;
      continue;
    }
    double before_s = 0, after_s = try_s;
    while (after_s - before_s > 1e-9 * try_s) {
      const double middle_s = (before_s + after_s) / 2;
      (passed(runge_kutta(bus, s, middle_s).to) ? after_s : before_s) = middle_s;
    }
    return runge_kutta(bus, s, after_s).to;
  }
  return s;
}

// To the first of: `until_s`, the load's switching, the passing of `high_v` upward.
State advance(const Bus& bus, const State& s, double until_s, double high_v = infinite) {
  if (s.drawing) {
    if (s.v <= 1e-6) {  // a load that draws its power down to no voltage holds the bus there
      return {until_s, 0, s.heat_j + bus.heat_w(0) * (until_s - s.time_s), true};
    }
    const double low_v = std::max(bus.stops_v, 1e-6);
    State to = drawing_after(bus, s, until_s, low_v, high_v);
    if (to.v < low_v) {
      to.drawing = bus.stops_v <= 0;
      to.v = bus.stops_v;
    }
    return to;
  }
  const double starts_s = bus.power_w > 0 ? idle_time(bus, s, bus.starts_v) : infinite;
  const double high_s = idle_time(bus, s, high_v);
  const double lasts_s = std::min({until_s - s.time_s, starts_s, high_s});
  State to = idle_after(bus, s, lasts_s);
  if (lasts_s == starts_s) {
    to.v = bus.starts_v;
    to.drawing = true;
  }
  return to;
}

State state_at(const Bus& bus, const PrechargeCircuit& circuit, double until_s) {
  State s = start_of(bus, circuit);
  while (s.time_s < until_s) s = advance(bus, s, until_s);
  return s;
}

// Roots of G v^2 - (V/R - I) v + P = 0, the lower and the higher balance.
std::optional<std::array<double, 2>> balances(const Bus& bus) {
  const double a = bus.source_v / bus.total_ohm - bus.leakage_a;
  const double under_root = a * a - 4 * bus.conductance_s * bus.power_w;
  if (a <= 0 || under_root < 0) return std::nullopt;
  const double high_v = (a + std::sqrt(under_root)) / (2 * bus.conductance_s);
  return std::array{bus.power_w / (bus.conductance_s * high_v), high_v};
}

struct BusAtRest {
  double v;
  bool hunts;
};
BusAtRest settled(const Bus& bus, double initial_v) {
  const bool starts = bus.power_w > 0 && (initial_v >= bus.starts_v || bus.settles_v() > bus.starts_v);
  if (!starts) return {bus.settles_v(), false};
  const double on_v = std::max(initial_v, bus.starts_v);
  const auto roots = balances(bus);
  if (roots && on_v > (*roots)[0] && (*roots)[1] >= bus.stops_v) return {(*roots)[1], false};
  // The load pulls the bus down to where it stops, or to nothing when it never stops.
  if (bus.stops_v <= 0) return {0, false};
  // It hunts if the bus can rise to the start again; otherwise it stays below it.
  if (bus.settles_v() > bus.starts_v) return {bus.stops_v, true};
  return {bus.settles_v(), false};
}

}  // namespace

std::optional<Volt> loaded_balance(const PrechargeCircuit& circuit) {
  const auto roots = balances(bus_of(circuit));
  if (!roots) return std::nullopt;
  return Volt((*roots)[1]);
}

std::vector<BusPoint> precharge_transient(const PrechargeCircuit& circuit, Second until, int points) {
  const Bus bus = bus_of(circuit);
  State s = start_of(bus, circuit);
  std::vector<BusPoint> found{{0, s.v}};
  const int steps = std::max(1, points - 1);
  for (int i = 1; i <= steps; ++i) {
    const double next_s = until.value * i / steps;
    while (s.time_s < next_s) {
      s = advance(bus, s, next_s);
      if (s.time_s > found.back().time_s) found.push_back({s.time_s, s.v});
    }
  }
  return found;
}

PrechargeOutcome precharge_outcome(const PrechargeCircuit& circuit, double fraction) {
  const Bus bus = bus_of(circuit);
  const double target_v = fraction * bus.source_v;
  const BusAtRest end = settled(bus, circuit.initial.value);
  PrechargeOutcome found;
  found.final = Volt(end.v);
  found.hunts = end.hunts;
  found.stalls = end.v < 0.95 * bus.source_v;
  found.total = Ohm(bus.total_ohm);
  found.time_constant = Second(bus.total_ohm * bus.capacitance_f);
  found.peak_resistor_power = Watt(bus.heat_w(circuit.initial.value));
  found.held_power = Watt(bus.heat_w(end.v));
  found.shorted_power = Watt(bus.heat_w(0));

  // The target is passed on the way up to the load's start, or on the way to the balance with it drawing.
  State s = start_of(bus, circuit);
  const double patience_s = 1000 * found.time_constant.value;
  for (int stretch = 0; stretch < 2 && s.v < target_v && s.time_s < patience_s; ++stretch) {
    const bool rises = s.drawing ? bus.net_a(std::max(s.v, 1e-9)) > 0 : bus.settles_v() > s.v;
    if (!rises) break;
    s = advance(bus, s, patience_s, target_v);
  }
  if (s.v >= target_v * (1 - 1e-9)) found.to_fraction = Second(s.time_s);
  return found;
}

Joule resistor_energy(const PrechargeCircuit& circuit, Second until) {
  return Joule(state_at(bus_of(circuit), circuit, until.value).heat_j);
}

ClosingSurge closing_surge(const PrechargeCircuit& circuit, Second delay) {
  const Bus bus = bus_of(circuit);
  ClosingSurge surge;
  surge.bus = Volt(state_at(bus, circuit, delay.value).v);
  surge.residual = circuit.source - surge.bus;
  const double source_ohm = circuit.source_resistance.value;
  surge.peak = Ampere(source_ohm > 0 ? std::fabs(surge.residual.value) / source_ohm : infinite);
  surge.energy = Joule(bus.capacitance_f * std::pow(surge.residual.value, 2) / 2);
  surge.time_constants = delay.value / (bus.total_ohm * bus.capacitance_f);
  return surge;
}

}  // namespace loomproof
