// The duty's currents turned into temperatures of every wire, alone or in its bundle.
#include "solve/ride_heat.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "model/time_limit.h"
#include "solve/bundle_heat.h"
#include "solve/bundle_ride_heat.h"
#include "solve/describe.h"
#include "solve/heat_over_time.h"
#include "solve/insulation.h"
#include "solve/ride_trace.h"

namespace loomproof {
namespace {

Sleeve sleeve_of(const Bundle& bundle) {
  if (!bundle.sleeve) return Sleeve::corrugated;  // the closest of them: the demanding choice
  const std::string& name = bundle.sleeve->value;
  if (name == "none") return Sleeve::none;
  if (name == "braided") return Sleeve::braided;
  if (name == "taped") return Sleeve::taped;
  return Sleeve::corrugated;
}

// Points that share a duty point (or have none) as one step: the largest current of every wire.
HeatStepCase step_of(const Loom& loom, const Circuit& circuit, const std::vector<OperatingPoint>& points,
                     std::optional<DutyIndex> duty) {
  HeatStepCase step;
  step.wire_a.assign(loom.wires.size(), 0);
  step.point_of.assign(loom.wires.size(), 0);
  step.when = duty ? loom.duty[duty->value].name : "no duty";
  for (std::size_t p = 0; p < points.size(); ++p) {
    if (points[p].situation.duty != duty) continue;
    for (std::size_t w = 0; w < loom.wires.size(); ++w) {
      const double amps = std::fabs(wire_current(circuit, points[p], WireIndex{w}).value);
      if (amps <= step.wire_a[w] * (1 + 1e-9)) continue;  // equal but for rounding: the first point is named
      step.wire_a[w] = amps;
      step.point_of[w] = p;
    }
  }
  return step;
}

struct Builds {
  std::vector<std::optional<WireBuild>> of;  // by wire
  std::vector<Celsius> limit;
};

Builds builds_of(const Loom& loom) {
  Builds builds;
  for (const Wire& wire : loom.wires) {
    const std::string_view name = wire.insulation ? std::string_view(wire.insulation->value) : assumed_insulation;
    const auto insulation = find_insulation(name);
    builds.limit.push_back(insulation ? insulation->limit : Celsius(0));
    builds.of.push_back(wire.size ? wire_build(wire.size->value, insulation ? name : assumed_insulation)
                                  : std::nullopt);
  }
  return builds;
}

class Heats {
 public:
  Heats(const Loom& loom, const Circuit& circuit, const std::vector<OperatingPoint>& points)
      : loom_(loom), circuit_(circuit), points_(points), builds_(builds_of(loom)), out_(loom.wires.size()) {
    for (std::size_t w = 0; w < loom.wires.size(); ++w) {
      WireHeat& heat = out_[w];
      const Wire& wire = loom.wires[w];
      heat.limit = builds_.limit[w];
      heat.peak = heat.around = loose_air(wire);
      if (!wire.size) heat.state = WireHeat::State::no_size;
      if (wire.size && !wire.insulation) heat.state = WireHeat::State::no_insulation;
    }
    members_.resize(loom.bundles.size());
    for (std::size_t w = 0; w < loom.wires.size(); ++w) {
      for (BundleIndex b : loom.wires[w].bundles) {
        if (builds_.of[w]) members_[b.value].push_back(w);
      }
    }
  }

  void judge(const HeatCase& heat_case) {
    for (std::size_t w = 0; w < loom_.wires.size(); ++w) {
      go_on();
      alone(w, heat_case);
    }
    for (std::size_t b = 0; b < members_.size(); ++b) {
      go_on();
      if (!members_[b].empty()) bundled(b, heat_case);
    }
  }

  std::vector<WireHeat> take() { return std::move(out_); }

  // The same currents as `alone` and `bundled` take.
  std::vector<HeatSample> trace(std::size_t w, const HeatCase& heat_case, std::optional<BundleIndex> bundle) const {
    if (!builds_.of[w] || heat_case.steps.size() < 2) return {};
    if (!bundle) {
      std::vector<RideStep> ride;
      for (const HeatStepCase& s : heat_case.steps) ride.push_back({judged(Ampere(s.wire_a[w])), *s.lasts});
      constexpr std::size_t points = 241;
      return periodic_trace(*builds_.of[w], ride, loose_air(loom_.wires[w]), points);
    }
    const std::vector<std::size_t>& wires = members_[bundle->value];
    std::vector<RidingWire> ridden;
    std::vector<Second> durations;
    std::size_t own = 0;
    for (std::size_t i = 0; i < wires.size(); ++i) {
      ridden.push_back({*builds_.of[wires[i]], {}});
      if (wires[i] == w) own = i;
    }
    for (const HeatStepCase& s : heat_case.steps) {
      std::vector<double> amps = hottest_state(wires, s);
      amps[own] = std::max(amps[own], s.wire_a[w]);
      for (std::size_t i = 0; i < wires.size(); ++i) ridden[i].currents.push_back(judged(Ampere(amps[i])));
      durations.push_back(*s.lasts);
    }
    return bundle_trace(ridden, durations, sleeve_of(loom_.bundles[bundle->value]),
                        air_of(loom_.bundles[bundle->value]), own);
  }

 private:
  Celsius loose_air(const Wire& wire) const {
    // A wire in bundles meets the air of its hottest one; the free stretch between is no hotter.
    return air_beside(loom_, wire);
  }

  Celsius air_of(const Bundle& bundle) const {
    return bundle.ambient ? bundle.ambient->value : ambient_of(loom_);
  }

  void keep(std::size_t w, std::optional<Celsius> peak, Celsius around, const HeatCase& heat_case, std::size_t step,
            std::optional<BundleIndex> bundle) {
    WireHeat& heat = out_[w];
    if (heat.state == WireHeat::State::melts) return;
    const HeatStepCase& s = heat_case.steps[step];
    // Surroundings count for what a fault meets, also where the wire itself carries nothing.
    heat.around = std::max(heat.around, around);
    if (peak && *peak <= heat.peak && heat.current.value > 0) return;
    if (peak && *peak < heat.peak) return;
    if (!peak) heat.state = WireHeat::State::melts;
    if (peak) heat.peak = *peak;
    heat.current = Ampere(s.wire_a[w]);
    heat.lasts = s.lasts;
    heat.bundle = bundle;
    heat.when = s.wire_a[w] > 0 ? describe(loom_, points_[s.point_of[w]].situation) : std::string();
    if (heat_case.steps.size() > 1) heat.when += ", in ride '" + heat_case.name + "'";
  }

  void alone(std::size_t w, const HeatCase& heat_case) {
    if (!builds_.of[w]) return;
    const WireBuild& build = *builds_.of[w];
    const Celsius air = loose_air(loom_.wires[w]);
    std::size_t most = 0;
    for (std::size_t s = 1; s < heat_case.steps.size(); ++s) {
      if (heat_case.steps[s].wire_a[w] > heat_case.steps[most].wire_a[w]) most = s;
    }
    const double most_a = heat_case.steps[most].wire_a[w];
    const auto key = std::make_tuple(build.area.value, build.outside_diameter_mm, build.conductivity_w_per_m_k,
                                     air.value, most_a, heat_case.steps.size() > 1 ? w : std::size_t{0});
    if (heat_case.steps.size() == 1) {
      auto [known, fresh] = steady_.try_emplace(key);
      if (fresh) known->second = judged_temperature(build, Ampere(most_a), air);
      keep(w, known->second, air, heat_case, 0, std::nullopt);
      return;
    }
    std::vector<RideStep> ride;
    for (const HeatStepCase& s : heat_case.steps) ride.push_back({judged(Ampere(s.wire_a[w])), *s.lasts});
    const auto peak = periodic_peak(build, ride, air);
    keep(w, peak ? std::optional(peak->peak) : std::nullopt, air, heat_case, peak ? peak->step : most, std::nullopt);
  }

  // The switch state in which the bundle makes most heat, per step; every wire then once more with its own largest
  // current where that lies in another state.
  void bundled(std::size_t b, const HeatCase& heat_case) {
    const std::vector<std::size_t>& wires = members_[b];
    const Sleeve sleeve = sleeve_of(loom_.bundles[b]);
    const Celsius air = air_of(loom_.bundles[b]);
    std::vector<std::vector<double>> currents(heat_case.steps.size());
    double total = 0;
    for (std::size_t s = 0; s < heat_case.steps.size(); ++s) {
      currents[s] = hottest_state(wires, heat_case.steps[s]);
      for (std::size_t i = 0; i < wires.size(); ++i) total += currents[s][i];
    }
    if (total == 0) return;
    const auto first = temperatures(wires, currents, heat_case, sleeve, air);
    for (std::size_t i = 0; i < wires.size(); ++i) {
      bool own_is_larger = false;
      auto own = currents;
      for (std::size_t s = 0; s < heat_case.steps.size(); ++s) {
        const double largest = heat_case.steps[s].wire_a[wires[i]];
        if (largest <= own[s][i] * (1 + 1e-6) + 1e-3) continue;
        own[s][i] = largest;
        own_is_larger = true;
      }
      const auto& answer = own_is_larger ? temperatures(wires, own, heat_case, sleeve, air) : first;
      std::optional<Celsius> peak;
      std::size_t step = 0;
      if (answer) {
        peak = (*answer)[i].peak;
        step = (*answer)[i].step;
      }
      keep(wires[i], peak, air, heat_case, step, BundleIndex{b});
    }
    raise_surroundings(b, heat_case, currents, sleeve, air);
  }

  // What a wire without current meets inside its bundle.
  void raise_surroundings(std::size_t b, const HeatCase& heat_case, const std::vector<std::vector<double>>& currents,
                          Sleeve sleeve, Celsius air) {
    const std::vector<std::size_t>& wires = members_[b];
    std::vector<LoadedWire> loaded;
    double heat_w_per_m = 0;
    for (std::size_t i = 0; i < wires.size(); ++i) {
      double squares = 0;
      double time = 0;
      for (std::size_t s = 0; s < heat_case.steps.size(); ++s) {
        const double lasts = heat_case.steps[s].lasts ? heat_case.steps[s].lasts->value : 1;
        const double amps = judged(Ampere(currents[s][i])).value;
        squares += amps * amps * lasts;
        time += lasts;
      }
      loaded.push_back({*builds_.of[wires[i]], Ampere(std::sqrt(squares / time))});
      heat_w_per_m += squares / time * ohm_per_metre_at(loaded.back().build, out_[wires[i]].peak);
    }
    const Celsius around(around_wires_c(bundle_body(loaded, sleeve), air, heat_w_per_m, air.value + 10));
    for (std::size_t w : wires) out_[w].around = std::max(out_[w].around, around);
  }

  std::vector<double> hottest_state(const std::vector<std::size_t>& wires, const HeatStepCase& step) const {
    std::vector<std::size_t> candidates;
    for (std::size_t w : wires) {
      if (step.wire_a[w] > 0) candidates.push_back(step.point_of[w]);
    }
    std::sort(candidates.begin(), candidates.end());
    candidates.erase(std::unique(candidates.begin(), candidates.end()), candidates.end());
    std::vector<double> best(wires.size(), 0);
    double most = -1;
    for (std::size_t p : candidates) {
      double heat = 0;
      std::vector<double> amps;
      for (std::size_t w : wires) {
        amps.push_back(std::fabs(wire_current(circuit_, points_[p], WireIndex{w}).value));
        heat += amps.back() * amps.back() * builds_.of[w]->ohm_per_metre;
      }
      if (heat <= most) continue;
      most = heat;
      best = std::move(amps);
    }
    return best;
  }

  struct Peak {
    Celsius peak;
    std::size_t step = 0;
  };

  std::optional<std::vector<Peak>> temperatures(const std::vector<std::size_t>& wires,
                                                const std::vector<std::vector<double>>& currents,
                                                const HeatCase& heat_case, Sleeve sleeve, Celsius air) const {
    std::vector<Peak> out;
    if (heat_case.steps.size() == 1) {
      std::vector<LoadedWire> loaded;
      for (std::size_t i = 0; i < wires.size(); ++i)
        loaded.push_back({*builds_.of[wires[i]], judged(Ampere(currents[0][i]))});
      const auto answer = bundle_temperatures(loaded, sleeve, air);
      if (!answer) return std::nullopt;
      for (Celsius t : *answer) out.push_back({t, 0});
      return out;
    }
    std::vector<RidingWire> ridden;
    std::vector<Second> durations;
    for (const HeatStepCase& s : heat_case.steps) durations.push_back(*s.lasts);
    for (std::size_t i = 0; i < wires.size(); ++i) {
      RidingWire wire{*builds_.of[wires[i]], {}};
      for (std::size_t s = 0; s < currents.size(); ++s) wire.currents.push_back(judged(Ampere(currents[s][i])));
      ridden.push_back(std::move(wire));
    }
    const auto answer = bundle_ride(ridden, durations, sleeve, air);
    if (!answer) return std::nullopt;
    for (const RideHeat& heat : *answer) out.push_back({heat.peak, heat.step});
    return out;
  }

  const Loom& loom_;
  const Circuit& circuit_;
  const std::vector<OperatingPoint>& points_;
  Builds builds_;
  std::vector<std::vector<std::size_t>> members_;  // by bundle: wires of known size
  std::vector<WireHeat> out_;
  std::map<std::tuple<double, double, double, double, double, std::size_t>, std::optional<Celsius>> steady_;
};

}  // namespace

std::vector<HeatCase> heat_cases(const Loom& loom, const Circuit& circuit, const std::vector<OperatingPoint>& points) {
  std::vector<HeatCase> cases;
  cases.push_back({"no duty", {step_of(loom, circuit, points, std::nullopt)}});
  std::vector<HeatStepCase> of_duty;
  for (std::size_t d = 0; d < loom.duty.size(); ++d) {
    of_duty.push_back(step_of(loom, circuit, points, DutyIndex{d}));
    of_duty.back().lasts = loom.duty[d].lasts;
  }
  std::vector<bool> ridden(loom.duty.size(), false);
  for (const Ride& ride : loom.rides) {
    HeatCase heat_case{ride.name, {}};
    for (DutyIndex d : ride.points) {
      ridden[d.value] = true;
      heat_case.steps.push_back(of_duty[d.value]);
      // A step without a length has no end: held for ever it hides the others.
      if (!loom.duty[d.value].lasts) ridden[d.value] = false;
    }
    std::erase_if(heat_case.steps, [](const HeatStepCase& s) { return !s.lasts; });
    if (heat_case.steps.size() == 1) heat_case.steps.front().lasts.reset();
    if (!heat_case.steps.empty()) cases.push_back(std::move(heat_case));
  }
  for (std::size_t d = 0; d < loom.duty.size(); ++d) {
    if (ridden[d]) continue;
    HeatStepCase step = of_duty[d];
    step.lasts.reset();
    cases.push_back({loom.duty[d].name, {std::move(step)}});
  }
  return cases;
}

std::vector<WireHeat> wire_heats(const Loom& loom, const Circuit& circuit, const std::vector<OperatingPoint>& points,
                                 const std::vector<HeatCase>& cases) {
  Heats heats(loom, circuit, points);
  for (const HeatCase& heat_case : cases) heats.judge(heat_case);
  return heats.take();
}

std::vector<HeatSample> ride_trace(const Loom& loom, const Circuit& circuit, const std::vector<OperatingPoint>& points,
                                   const HeatCase& heat_case, WireIndex wire, std::optional<BundleIndex> bundle) {
  return Heats(loom, circuit, points).trace(wire.value, heat_case, bundle);
}

}  // namespace loomproof
