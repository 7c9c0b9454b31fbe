// A bundle over a repeated ride.
#include "solve/bundle_ride_heat.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <Eigen/Dense>

#include "solve/bundle_transient_heat.h"
#include "solve/ride_trace.h"
#include "solve/transient_heat.h"

namespace loomproof {
namespace {

constexpr double settled_bundle_k = 2e-3;
constexpr int most_bundle_cycles = 200;
constexpr std::size_t most_remembered = 4;

// Anderson's mixing: the next start is the combination of the last ends whose misses cancel best.
class PeriodicSearch {
 public:
  BundleState next(const BundleState& start, const BundleState& end) {
    starts_.push_back(start);
    ends_.push_back(end);
    if (starts_.size() > most_remembered) {
      starts_.erase(starts_.begin());
      ends_.erase(ends_.begin());
    }
    const auto m = static_cast<Eigen::Index>(starts_.size()) - 1;
    if (m == 0) return end;
    const BundleState miss = end - start;
    Eigen::MatrixXd misses(start.size(), m), moves(start.size(), m);
    for (Eigen::Index j = 0; j < m; ++j) {
      const auto i = static_cast<std::size_t>(j);
      misses.col(j) = (ends_[i + 1] - starts_[i + 1]) - (ends_[i] - starts_[i]);
      moves.col(j) = ends_[i + 1] - ends_[i];
    }
    const Eigen::VectorXd weights = misses.colPivHouseholderQr().solve(miss);
    const BundleState mixed = end - moves * weights;
    return mixed.allFinite() ? mixed : end;
  }

 private:
  std::vector<BundleState> starts_, ends_;
};

// The start that the ride brings back, from a first guess.
std::optional<BundleState> periodic_start(const BundleRide& ride, std::span<const Second> durations) {
  PeriodicSearch search;
  BundleState start = ride.guess;
  BundleState walked = start;  // the last end that was reached by riding, not by mixing
  bool mixing = true;
  for (int cycle = 0; cycle < most_bundle_cycles; ++cycle) {
    BundleState end = start;
    bool whole = true;
    for (std::size_t s = 0; s < durations.size() && whole; ++s) {
      whole = march_bundle(ride.body, ride.loads[s], durations[s].value, end, {});
    }
    if (!whole) {
      if (!mixing || cycle == 0) return std::nullopt;
      mixing = false;  // melted from a guessed start: go on by riding alone
      start = walked;
      continue;
    }
    walked = end;
    if ((end - start).lpNorm<Eigen::Infinity>() < settled_bundle_k) return end;
    start = mixing ? search.next(start, end) : end;
  }
  return std::nullopt;
}

// One round from `start`: every wire's temperature at every moment of the stepping goes to look(wire, degC, step,
// moment), as an idle wire in its place and, where it is loaded, as its own copper. False when a conductor melts.
template <class Look>
bool one_round(const BundleRide& ride, std::span<const Second> durations, std::size_t wires, const BundleState& start,
               const Look& look) {
  BundleState state = start;
  const Eigen::Index core = state.size() - 1;
  double begun_s = 0;
  for (std::size_t s = 0; s < durations.size(); ++s) {
    const BundleLoad& load = ride.loads[s];
    const auto seen = [&](double at_s, const BundleState& now) {
      const double core_rise_k = load.core_k_m_per_w * bundle_heat_out(ride.body, load, now[core]).heat_w_per_m;
      for (std::size_t i = 0; i < wires; ++i) {
        look(i, now[core] - (1 - ride.places[s][i]) * core_rise_k, s, begun_s + at_s);
      }
      for (Eigen::Index j = 0; j < core; ++j) {
        look(ride.loaded[static_cast<std::size_t>(j)], now[j], s, begun_s + at_s);
      }
    };
    if (!march_bundle(ride.body, load, durations[s].value, state, seen)) return false;
    begun_s += durations[s].value;
  }
  return true;
}

}  // namespace

std::optional<BundleRide> bundle_ride_of(std::span<const RidingWire> wires, std::span<const Second> durations,
                                         Sleeve sleeve, Celsius ambient) {
  const std::size_t n = wires.size();
  double whole_s = 0;
  for (const Second duration : durations) whole_s += duration.value;

  BundleRide ride;
  std::vector<LoadedWire> mean_load;
  for (std::size_t i = 0; i < n; ++i) {
    double i2t = 0;
    for (std::size_t s = 0; s < durations.size(); ++s) {
      i2t += wires[i].currents[s].value * wires[i].currents[s].value * durations[s].value;
    }
    mean_load.push_back({wires[i].build, Ampere(std::sqrt(i2t / whole_s))});
    if (i2t > 0) ride.loaded.push_back(i);
  }
  const auto mean_c = bundle_temperatures(mean_load, sleeve, ambient);
  if (!mean_c) return std::nullopt;
  const auto heat_at_mean_w = [&](std::size_t i, Ampere current) {
    return current.value * current.value * ohm_per_metre_at(wires[i].build, (*mean_c)[i]);
  };

  std::vector<double> mean_w(n);
  double mean_total_w = 0;
  for (std::size_t i = 0; i < n; ++i) mean_total_w += mean_w[i] = heat_at_mean_w(i, mean_load[i].current);

  for (std::size_t s = 0; s < durations.size(); ++s) {
    std::vector<double> heat_w = mean_w;
    double total_w = mean_total_w;
    for (std::size_t i = 0; i < n; ++i) {
      const double step_w = heat_at_mean_w(i, wires[i].currents[s]);
      heat_w[i] += step_w;
      total_w += step_w;
    }
    const std::vector<double> rises = core_rises_k(mean_load, heat_w);
    const double highest_k = std::ranges::max(rises);
    BundleLoad load;
    load.core_k_m_per_w = total_w > 0 ? highest_k / total_w : 0;
    std::vector<double> places(n, 1);
    for (std::size_t i = 0; i < n && highest_k > 0; ++i) places[i] = rises[i] / highest_k;
    for (const std::size_t i : ride.loaded) {
      const double current_a = wires[i].currents[s].value;
      load.i2r20_w_per_m.push_back(current_a * current_a * wires[i].build.ohm_per_metre);
      load.places.push_back(places[i]);
    }
    ride.loads.push_back(load);
    ride.places.push_back(places);
  }

  const BundleBody shape = bundle_body(mean_load, sleeve);
  const double around_k = around_wires_c(shape, ambient, mean_total_w, ambient.value + 1) - ambient.value;
  const double core_k = std::ranges::max(core_rises_k(mean_load, mean_w));
  ride.body.bundle = bundle_outside(shape, ambient);
  ride.body.sleeve = sleeve_outside(shape, ambient);
  ride.body.sleeve_k_m_per_w = shape.sleeve_k_m_per_w;
  double stored_j_per_k = 0;
  for (std::size_t i = 0; i < n; ++i) {
    stored_j_per_k += insulation_heat_j_per_m_k(wires[i].build);
    if (mean_load[i].current.value == 0) stored_j_per_k += copper_heat_j_per_m_k(wires[i].build);
  }
  // The body is cooler than its core: half of the core's rise in the mean. So it stores that much less per kelvin of
  // it.
  const double share = around_k + core_k > 0 ? (around_k + 0.5 * core_k) / (around_k + core_k) : 1;
  ride.body.core_j_per_m_k = stored_j_per_k * share;
  for (const std::size_t i : ride.loaded) {
    ride.body.wall_k_m_per_w.push_back(std::max(insulation_k_m_per_w(wires[i].build), 1e-6));
    ride.body.copper_j_per_m_k.push_back(copper_heat_j_per_m_k(wires[i].build));
  }

  const auto m = static_cast<Eigen::Index>(ride.loaded.size());
  ride.guess.resize(m + 1);
  for (Eigen::Index j = 0; j < m; ++j) ride.guess[j] = (*mean_c)[ride.loaded[static_cast<std::size_t>(j)]].value;
  ride.guess[m] = ambient.value + around_k + core_k;
  return ride;
}

std::optional<std::vector<RideHeat>> bundle_ride(std::span<const RidingWire> wires, std::span<const Second> durations,
                                                 Sleeve sleeve, Celsius ambient) {
  std::vector<RideHeat> alone;
  bool any_load = false;
  for (const RidingWire& wire : wires) {
    if (wire.currents.size() != durations.size()) return std::nullopt;
    std::vector<RideStep> steps;
    for (std::size_t s = 0; s < durations.size(); ++s) {
      steps.push_back({wire.currents[s], durations[s]});
      any_load = any_load || wire.currents[s].value != 0;
    }
    const auto peak = periodic_peak(wire.build, steps, ambient);  // also refuses durations that are none
    if (!peak) return std::nullopt;
    alone.push_back(*peak);
  }
  if (!any_load || (wires.size() == 1 && sleeve == Sleeve::none)) return alone;

  const auto ride = bundle_ride_of(wires, durations, sleeve, ambient);
  if (!ride) return std::nullopt;
  const auto start = periodic_start(*ride, durations);
  if (!start) return std::nullopt;

  std::vector<RideHeat> hottest = alone;
  const auto look = [&](std::size_t wire, double at_c, std::size_t step, double moment_s) {
    if (at_c > hottest[wire].peak.value) hottest[wire] = {Celsius(at_c), step, Second(moment_s)};
  };
  if (!one_round(*ride, durations, wires.size(), *start, look)) return std::nullopt;
  return hottest;
}

std::vector<HeatSample> bundle_trace(std::span<const RidingWire> wires, std::span<const Second> durations,
                                     Sleeve sleeve, Celsius ambient, std::size_t wire) {
  if (!bundle_ride(wires, durations, sleeve, ambient)) return {};
  const bool any_load = std::ranges::any_of(wires, [](const RidingWire& w) {
    return std::ranges::any_of(w.currents, [](Ampere a) { return a.value != 0; });
  });
  if (!any_load || (wires.size() == 1 && sleeve == Sleeve::none)) {
    std::vector<RideStep> steps;
    for (std::size_t s = 0; s < durations.size(); ++s) steps.push_back({wires[wire].currents[s], durations[s]});
    constexpr std::size_t points = 241;
    return periodic_trace(wires[wire].build, steps, ambient, points);
  }
  const auto ride = bundle_ride_of(wires, durations, sleeve, ambient);
  const auto start = periodic_start(*ride, durations);
  std::vector<HeatSample> trace;
  const auto look = [&](std::size_t w, double at_c, std::size_t, double moment_s) {
    if (w != wire) return;
    if (!trace.empty() && trace.back().moment.value == moment_s) {
      trace.back().conductor = std::max(trace.back().conductor, Celsius(at_c));
    } else {
      trace.push_back({Second(moment_s), Celsius(at_c)});
    }
  };
  if (!one_round(*ride, durations, wires.size(), *start, look)) return {};
  // The round closes on itself: it starts as it ends.
  if (!trace.empty() && trace.front().moment.value > 0)
    trace.insert(trace.begin(), {Second(0), trace.back().conductor});
  return trace;
}

}  // namespace loomproof
