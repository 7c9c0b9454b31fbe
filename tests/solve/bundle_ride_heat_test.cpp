// A bundle over a ride: against the steady bundle, a fine march of many rides, and what must hold for any ride.
#include "solve/bundle_ride_heat.h"
#include "solve/heat_reference.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <random>

namespace loomproof {

namespace {

using heat_reference::wire_of;

// A traction pair, its precharge wire, lamp feeds and idle signal wires.
std::vector<RidingWire> trunk() {
  const auto currents = [](double climb_a, double cruise_a, double stop_a) {
    return std::vector<Ampere>{Ampere(climb_a), Ampere(cruise_a), Ampere(stop_a)};
  };
  std::vector<RidingWire> wires;
  for (int i = 0; i < 2; ++i) wires.push_back({wire_of(25, "silicone-180"), currents(180, 55, 0)});
  wires.push_back({wire_of(1.5, "pvc-105"), currents(0, 0, 0)});
  for (int i = 0; i < 4; ++i) wires.push_back({wire_of(1.5, "pvc-105"), currents(4, 8, 2)});
  for (int i = 0; i < 6; ++i) wires.push_back({wire_of(0.75, "pvc-105"), currents(0, 0, 0)});
  return wires;
}
const std::vector<Second> trunk_durations = {Second(45), Second(480), Second(60)};

// Runge-Kutta with small fixed steps on the two-level model, written anew from its equations.
std::vector<double> fine_peaks(const BundleRide& ride, std::span<const Second> durations, int rides, double about_s) {
  const auto m = static_cast<std::size_t>(ride.guess.size()) - 1;
  std::vector<double> y(m + 1, ride.body.bundle.ambient_c), peaks(m + 1);
  const auto rates = [&](const BundleLoad& load, const std::vector<double>& at) {
    std::vector<double> dy(m + 1);
    const double out_w = bundle_heat_out(ride.body, load, at[m]).heat_w_per_m;
    double gained_w = -out_w;
    for (std::size_t i = 0; i < m; ++i) {
      const double beside_c = at[m] - (1 - load.places[i]) * load.core_k_m_per_w * out_w;
      const double flow_w = (at[i] - beside_c) / ride.body.wall_k_m_per_w[i];
      dy[i] = (load.i2r20_w_per_m[i] * (1 + 0.00393 * (at[i] - 20)) - flow_w) / ride.body.copper_j_per_m_k[i];
      gained_w += flow_w;
    }
    dy[m] = gained_w / ride.body.core_j_per_m_k;
    return dy;
  };
  const auto plus = [](std::vector<double> a, double h, const std::vector<double>& b) {
    for (std::size_t i = 0; i < a.size(); ++i) a[i] += h * b[i];
    return a;
  };
  for (int n = 0; n < rides; ++n) {
    std::ranges::fill(peaks, -1e9);
    for (std::size_t s = 0; s < durations.size(); ++s) {
      const int steps = static_cast<int>(std::ceil(durations[s].value / about_s));
      const double h = durations[s].value / steps;
      for (int k = 0; k < steps; ++k) {
        const auto k1 = rates(ride.loads[s], y);
        const auto k2 = rates(ride.loads[s], plus(y, h / 2, k1));
        const auto k3 = rates(ride.loads[s], plus(y, h / 2, k2));
        const auto k4 = rates(ride.loads[s], plus(y, h, k3));
        for (std::size_t i = 0; i <= m; ++i) {
          y[i] += h / 6 * (k1[i] + 2 * k2[i] + 2 * k3[i] + k4[i]);
          peaks[i] = std::max(peaks[i], y[i]);
        }
      }
    }
  }
  return peaks;
}

}  // namespace

TEST_CASE("a held load ends at the steady bundle") {
  std::vector<RidingWire> wires;
  std::vector<LoadedWire> steady;
  for (const double area_mm2 : {16.0, 16.0, 6.0, 2.5, 2.5, 1.5, 0.75}) {
    const Ampere current(area_mm2 * 2.2);
    wires.push_back({wire_of(area_mm2, "xlpe-125"), {current, current}});
    steady.push_back({wires.back().build, current});
  }
  wires.push_back({wire_of(0.5, "pvc-70"), {Ampere(0), Ampere(0)}});
  steady.push_back({wires.back().build, Ampere(0)});
  const Second durations[] = {Second(30), Second(200)};
  for (const Sleeve sleeve : {Sleeve::none, Sleeve::braided, Sleeve::corrugated, Sleeve::taped}) {
    const auto ride = bundle_ride(wires, durations, sleeve, Celsius(40));
    const auto held = bundle_temperatures(steady, sleeve, Celsius(40));
    REQUIRE(ride);
    REQUIRE(held);
    for (std::size_t i = 0; i < wires.size(); ++i) {
      CHECK(ride->at(i).peak.value == doctest::Approx(held->at(i).value).epsilon(0.001));
    }
  }
}

TEST_CASE("periodic state of a bundle against a fine march of many rides") {
  const auto wires = trunk();
  for (const Sleeve sleeve : {Sleeve::none, Sleeve::corrugated}) {
    const auto found = bundle_ride(wires, trunk_durations, sleeve, Celsius(40));
    REQUIRE(found);
    const auto ride = bundle_ride_of(wires, trunk_durations, sleeve, Celsius(40)).value();
    const auto fine = fine_peaks(ride, trunk_durations, 20, 0.04);
    double worst_k = 0;
    for (std::size_t j = 0; j < ride.loaded.size(); ++j) {
      worst_k = std::max(worst_k, std::abs(found->at(ride.loaded[j]).peak.value - fine[j]));
    }
    MESSAGE("trunk peak " << found->at(0).peak.value << " degC in step " << found->at(0).step << ", worst difference "
                          << worst_k << " K");
    CHECK(worst_k < 0.05);
    CHECK(found->at(0).step == 0);
    CHECK(found->at(0).moment.value == doctest::Approx(45));
  }
}

TEST_CASE("short rides in a slow bundle") {
  // Seconds of ride against many minutes of the body's own time: the search must not stop early.
  std::vector<RidingWire> wires;
  for (int i = 0; i < 3; ++i) wires.push_back({wire_of(35, "pvc-105"), {Ampere(260), Ampere(0)}});
  for (int i = 0; i < 8; ++i) wires.push_back({wire_of(2.5, "pvc-105"), {Ampere(6), Ampere(9)}});
  const Second durations[] = {Second(6), Second(12)};
  const auto found = bundle_ride(wires, durations, Sleeve::taped, Celsius(30));
  REQUIRE(found);
  const auto ride = bundle_ride_of(wires, durations, Sleeve::taped, Celsius(30)).value();
  const auto fine = fine_peaks(ride, durations, 1200, 0.1);
  for (std::size_t j = 0; j < ride.loaded.size(); ++j) {
    CHECK(std::abs(found->at(ride.loaded[j]).peak.value - fine[j]) < 0.1);
  }
}

TEST_CASE("one wire is its own ride") {
  const std::vector<RidingWire> one = {{wire_of(16, "pvc-105"), {Ampere(150), Ampere(40)}}};
  const Second durations[] = {Second(30), Second(90)};
  const RideStep steps[] = {{Ampere(150), Second(30)}, {Ampere(40), Second(90)}};
  const auto alone = periodic_peak(one[0].build, steps, Celsius(40)).value();
  CHECK(bundle_ride(one, durations, Sleeve::none, Celsius(40))->at(0).peak == alone.peak);
  CHECK(bundle_ride(one, durations, Sleeve::corrugated, Celsius(40))->at(0).peak >= alone.peak);
}

TEST_CASE("more current anywhere lowers no peak, and none is below the wire alone") {
  auto wires = trunk();
  auto last = bundle_ride(wires, trunk_durations, Sleeve::braided, Celsius(40)).value();
  for (int n = 0; n < 12; ++n) {
    auto& raised = wires[static_cast<std::size_t>(n) % 7].currents[static_cast<std::size_t>(n) % 3];
    raised = raised * 1.2 + Ampere(0.5);
    const auto now = bundle_ride(wires, trunk_durations, Sleeve::braided, Celsius(40));
    REQUIRE(now);
    for (std::size_t i = 0; i < wires.size(); ++i) {
      CHECK(now->at(i).peak.value >= last[i].peak.value - 0.1);  // stepping tolerance
      std::vector<RideStep> steps;
      for (std::size_t s = 0; s < 3; ++s) steps.push_back({wires[i].currents[s], trunk_durations[s]});
      CHECK(now->at(i).peak >= periodic_peak(wires[i].build, steps, Celsius(40))->peak);
    }
    last = *now;
  }
}

TEST_CASE("a pulse in a bundle starts adiabatic in the wire's own copper") {
  // 2 s at 30 A/mm2 after a long rest: nearly I^2 R t / C above the rest of the ride.
  std::vector<RidingWire> wires = {{wire_of(2.5, "silicone-180"), {Ampere(75), Ampere(0)}}};
  for (int i = 0; i < 5; ++i) wires.push_back({wire_of(2.5, "silicone-180"), {Ampere(0), Ampere(0)}});
  const Second durations[] = {Second(2), Second(4000)};
  const auto ride = bundle_ride(wires, durations, Sleeve::none, Celsius(40)).value();
  const double adiabatic_k = 75.0 * 75 * wires[0].build.ohm_per_metre * 2 / (3.45 * 2.5);
  CHECK(ride[0].peak.value - 40 < adiabatic_k * 1.1);
  CHECK(ride[0].peak.value - 40 > adiabatic_k * 0.6);
}

TEST_CASE("bundle rides without an answer") {
  const std::vector<RidingWire> uneven = {{wire_of(1, "pvc-70"), {Ampere(1)}}};
  const Second durations[] = {Second(2), Second(4)};
  CHECK_FALSE(bundle_ride(uneven, durations, Sleeve::none, Celsius(40)));
  const std::vector<RidingWire> melts = {{wire_of(1, "pvc-70"), {Ampere(300), Ampere(1)}},
                                         {wire_of(1, "pvc-70"), {Ampere(1), Ampere(1)}}};
  CHECK_FALSE(bundle_ride(melts, durations, Sleeve::none, Celsius(40)));
  const Second none[] = {Second(0), Second(4)};
  const std::vector<RidingWire> fine = {{wire_of(1, "pvc-70"), {Ampere(1), Ampere(1)}},
                                        {wire_of(1, "pvc-70"), {Ampere(1), Ampere(1)}}};
  CHECK_FALSE(bundle_ride(fine, none, Sleeve::none, Celsius(40)));
  CHECK_FALSE(bundle_ride(std::vector<RidingWire>(2, {wire_of(1, "pvc-70"), {}}), {}, Sleeve::none, Celsius(40)));
}

TEST_CASE("random rides always come to an answer") {
  std::mt19937 random(11);
  const double sizes[] = {0.5, 1.5, 4, 16, 35};
  for (int n = 0; n < 60; ++n) {
    std::vector<RidingWire> wires;
    const std::size_t count = 2 + random() % 10;
    const std::size_t steps = 1 + random() % 5;
    std::vector<Second> durations;
    for (std::size_t s = 0; s < steps; ++s)
      durations.push_back(Second(std::pow(10, static_cast<double>(random() % 300) / 100)));
    for (std::size_t i = 0; i < count; ++i) {
      const double area_mm2 = sizes[random() % 5];
      RidingWire wire{wire_of(area_mm2, "silicone-180"), {}};
      for (std::size_t s = 0; s < steps; ++s)
        wire.currents.push_back(Ampere(area_mm2 * static_cast<double>(random() % 40) / 10));
      wires.push_back(wire);
    }
    CAPTURE(n);
    CHECK(bundle_ride(wires, durations, Sleeve::braided, Celsius(40)));
  }
}

TEST_CASE("bundle rides are fast") {
  const auto wires = trunk();
  const auto start = std::chrono::steady_clock::now();
  double sum = 0;
  for (int i = 0; i < 50; ++i) {
    sum += bundle_ride(wires, trunk_durations, Sleeve::braided, Celsius(40 + i * 0.01))->at(0).peak.value;
  }
  const double us = std::chrono::duration<double, std::micro>(std::chrono::steady_clock::now() - start).count() / 50;
  MESSAGE("bundle_ride, 13 wires, 3 steps: " << us << " us");
  CHECK(sum > 0);
  CHECK(us < 13 * 3000);  // ten times a few hundred microseconds a wire
}

}  // namespace loomproof
