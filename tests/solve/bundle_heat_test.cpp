// Bundles against published grouping factors, and what must hold for any bundle.
#include "solve/bundle_heat.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <random>

#include "solve/heat_reference.h"
#include "solve/insulation.h"

namespace loomproof {

namespace {

using heat_reference::wire_of;

// Current at which the hottest of `loaded` equal wires among `count` reaches the limit.
double rating_a(const WireBuild& build, std::size_t count, std::size_t loaded, double limit_c, double ambient_c) {
  double low_a = 0;
  double high_a = ampacity(build, Celsius(limit_c), Celsius(ambient_c)).value * 1.01;
  for (int i = 0; i < 50; ++i) {
    const double current_a = (low_a + high_a) / 2;
    std::vector<LoadedWire> wires(count, LoadedWire{build, Ampere(0)});
    for (std::size_t n = 0; n < loaded; ++n) wires[n].current = Ampere(current_a);
    const auto at = bundle_temperatures(wires, Sleeve::none, Celsius(ambient_c));
    const bool below = at && std::ranges::max(*at).value <= limit_c;
    (below ? low_a : high_a) = current_a;
  }
  return low_a;
}

std::size_t count_of(const heat_reference::Row& row, const std::string& column) {
  return static_cast<std::size_t>(heat_reference::number(row, column));
}

struct Worst {
  double low = 0, high = 0;
  void take(double error) {
    low = std::min(low, error);
    high = std::max(high, error);
  }
};

std::vector<LoadedWire> mixed_bundle(unsigned seed, std::size_t count) {
  std::mt19937 random(seed);
  const double sizes[] = {0.5, 0.75, 1.5, 2.5, 6, 16, 35};
  std::vector<LoadedWire> wires;
  for (std::size_t i = 0; i < count; ++i) {
    const double area_mm2 = sizes[random() % 7];
    const double density = static_cast<double>(random() % 40) / 10;  // A/mm2
    wires.push_back({wire_of(area_mm2, i % 2 ? "pvc-105" : "silicone-180"), Ampere(area_mm2 * density)});
  }
  return wires;
}

}  // namespace

TEST_CASE("IEC 60364-5-52 B.52.17 item 1: bunched circuits") {
  // Counts circuits: one circuit is two loaded cores, and its factor is 1.
  Worst worst;
  int rows = 0;
  for (const double area_mm2 : {1.5, 2.5, 6.0}) {
    const WireBuild build = wire_of(area_mm2, "pvc-70");
    const double circuit_a = rating_a(build, 2, 2, 70, 30);
    for (const auto& row : heat_reference::read("bundling.csv")) {
      if (row.at("table") != "IEC 60364-5-52 B.52.17 item 1") continue;
      const std::size_t wires = 2 * count_of(row, "count_from");
      worst.take(rating_a(build, wires, wires, 70, 30) / circuit_a / heat_reference::number(row, "factor") - 1);
      ++rows;
    }
  }
  MESSAGE("B.52.17 item 1: from " << 100 * worst.low << " % to +" << 100 * worst.high << " %");
  CHECK(rows == 36);
  CHECK(worst.low >= -0.15);
  CHECK(worst.high <= 0.05);
}

TEST_CASE("NEC 310.15(C)(1): more than three conductors") {
  // A row holds for all counts up to its last, so it is met there; up to three conductors are the table's 1.
  Worst worst;
  for (const double area_mm2 : {1.5, 2.5, 6.0}) {
    const WireBuild build = wire_of(area_mm2, "pvc-90");
    const double three_a = rating_a(build, 3, 3, 90, 30);
    for (const auto& row : heat_reference::read("bundling.csv")) {
      if (row.at("table") != "NEC 310.15(C)(1)" || row.at("count_to").empty()) continue;
      const std::size_t wires = count_of(row, "count_to");
      worst.take(rating_a(build, wires, wires, 90, 30) / three_a / heat_reference::number(row, "factor") - 1);
    }
  }
  MESSAGE("NEC 310.15(C)(1) at the end of each row: from " << 100 * worst.low << " % to +" << 100 * worst.high << " %");
  CHECK(worst.low >= -0.10);
  CHECK(worst.high <= 0.10);
}

TEST_CASE("DIN VDE 0298-4: loaded cores of one cable") {
  // The reference file does not say whether the factors multiply the rating of two or of three loaded cores. Over two
  // the table is met closely; over three the model would stand 10..21 % above it: shown, not asserted.
  Worst of_two, of_three;
  for (const double area_mm2 : {1.5, 2.5, 6.0}) {
    const WireBuild build = wire_of(area_mm2, "pvc-70");
    const double two_a = rating_a(build, 2, 2, 70, 30);
    const double three_a = rating_a(build, 3, 3, 70, 30);
    for (const auto& row : heat_reference::read("bundling.csv")) {
      if (row.at("table") != "DIN VDE 0298-4 multicore") continue;
      const std::size_t wires = count_of(row, "count_from");
      const double bundled_a = rating_a(build, wires, wires, 70, 30);
      of_two.take(bundled_a / two_a / heat_reference::number(row, "factor") - 1);
      of_three.take(bundled_a / three_a / heat_reference::number(row, "factor") - 1);
    }
  }
  MESSAGE("DIN VDE 0298-4 over two cores: from " << 100 * of_two.low << " % to +" << 100 * of_two.high
                                                 << " %; over three: up to +" << 100 * of_three.high << " %");
  CHECK(of_two.low >= -0.15);
  CHECK(of_two.high <= 0.08);
}

TEST_CASE("worked examples 19 and 21: FAA bundles, part of the wires loaded") {
  // The printed factors are chart readings; "60 % of harness capacity" of 8 wires is taken as 5 of 8 loaded.
  const WireBuild awg14 = wire_build(awg_area(14), "ptfe-200").value();
  const double eight = rating_a(awg14, 8, 5, 200, 50) / rating_a(awg14, 1, 1, 200, 50);
  CHECK(eight == doctest::Approx(0.60).epsilon(0.10));
  const WireBuild awg22 = wire_build(awg_area(22), "ptfe-200").value();
  const double thirty_five = rating_a(awg22, 35, 7, 200, 60) / rating_a(awg22, 1, 1, 200, 60);
  CHECK(thirty_five == doctest::Approx(0.52).epsilon(0.10));
  MESSAGE("FAA 8 wires: " << eight << " (0.60), 35 wires: " << thirty_five << " (0.52)");
}

TEST_CASE("worked example 20: estimated conductor temperature") {
  // FAA: T2 = 50 + 150 sqrt(20/26) = 182 degC, which its text calls conservative. A heat balance must lie below it and
  // above the resistance-free square law.
  const WireBuild build = wire_build(awg_area(14), "ptfe-200").value();
  std::vector<LoadedWire> wires(8, LoadedWire{build, Ampere(0)});
  const double full_a = rating_a(build, 8, 5, 200, 50);
  for (std::size_t i = 0; i < 5; ++i) wires[i].current = Ampere(full_a * 20 / 26);
  const double hottest_c = std::ranges::max(*bundle_temperatures(wires, Sleeve::none, Celsius(50))).value;
  CHECK(hottest_c < 182);
  CHECK(hottest_c > 50 + 150 * (20.0 / 26) * (20.0 / 26) * 0.85);
}

TEST_CASE("round bundles are somewhat larger than perfectly packed ones") {
  // Geometry: 7 and 19 equal circles pack perfectly into 3 and 5 diameters. Rule of thumb for laid bundles: 1.2 sqrt(n)
  // diameters (common practice, no source).
  const WireBuild build = wire_of(1.5, "pvc-105");
  for (const auto& [n, perfect] : {std::pair{7, 3.0}, std::pair{19, 5.0}}) {
    const std::vector<LoadedWire> wires(static_cast<std::size_t>(n), LoadedWire{build, Ampere(0)});
    const double diameters = bundle_body(wires, Sleeve::none).bundle_diameter_mm / build.outside_diameter_mm;
    CHECK(diameters > perfect);
    CHECK(diameters == doctest::Approx(1.2 * std::sqrt(n)).epsilon(0.10));
  }
}

TEST_CASE("two and three loaded wires against multicore cable in free air") {
  // IEC 60364-5-52 table B.52.10, method E, PVC 70 degC, 30 degC air: two and three loaded cores; from memory. The
  // cable's sheath makes it thicker and its cores lie side by side, so thin-wall wires with all heat in the core lie
  // below it.
  constexpr struct {
    double area_mm2, two_a, three_a;
  } method_e[] = {{1.5, 22, 18.5}, {2.5, 30, 25}, {4, 40, 34}, {6, 51, 43}, {10, 70, 60}, {16, 94, 80}};
  Worst worst;
  for (const auto& row : method_e) {
    const WireBuild build = wire_of(row.area_mm2, "pvc-70");
    worst.take(rating_a(build, 2, 2, 70, 30) / row.two_a - 1);
    const double three = rating_a(build, 3, 3, 70, 30) / row.three_a - 1;
    worst.take(three);
    CHECK(three < 0);
  }
  MESSAGE("method E: from " << 100 * worst.low << " % to +" << 100 * worst.high << " %");
  CHECK(worst.low >= -0.25);
  CHECK(worst.high <= 0.0);
}

TEST_CASE("one wire") {
  const WireBuild build = wire_of(6, "pvc-105");
  const LoadedWire alone[] = {{build, Ampere(55)}};
  const auto steady = steady_temperature(build, Ampere(55), Celsius(40));
  CHECK(bundle_temperatures(alone, Sleeve::none, Celsius(40))->at(0) == *steady);
  for (const Sleeve sleeve : {Sleeve::braided, Sleeve::corrugated, Sleeve::taped}) {
    CHECK(bundle_temperatures(alone, sleeve, Celsius(40))->at(0) >= *steady);  // a sleeve never cools
  }
  CHECK(bundle_temperatures({}, Sleeve::none, Celsius(40))->empty());
}

TEST_CASE("no wire of a bundle is cooler than alone, and a sleeve never cools") {
  for (unsigned seed = 1; seed <= 40; ++seed) {
    const auto wires = mixed_bundle(seed, 2 + seed % 12);
    const auto bare = bundle_temperatures(wires, Sleeve::none, Celsius(40));
    REQUIRE(bare);
    for (std::size_t i = 0; i < wires.size(); ++i) {
      CHECK(bare->at(i) >= *steady_temperature(wires[i].build, wires[i].current, Celsius(40)));
    }
    for (const Sleeve sleeve : {Sleeve::braided, Sleeve::corrugated, Sleeve::taped}) {
      const auto sleeved = bundle_temperatures(wires, sleeve, Celsius(40));
      if (!sleeved) continue;
      for (std::size_t i = 0; i < wires.size(); ++i) CHECK(sleeved->at(i).value >= bare->at(i).value - 1e-5);
    }
  }
}

TEST_CASE("more current anywhere lowers no temperature") {
  for (unsigned seed = 1; seed <= 60; ++seed) {
    auto wires = mixed_bundle(seed, 2 + seed % 9);
    auto last = bundle_temperatures(wires, Sleeve::braided, Celsius(30));
    REQUIRE(last);
    const std::size_t raised = seed % wires.size();
    bool gone = false;
    for (int n = 0; n < 40; ++n) {
      wires[raised].current = wires[raised].current * 1.15 + Ampere(0.1);
      const auto now = bundle_temperatures(wires, Sleeve::braided, Celsius(30));
      if (!now) {
        gone = true;
        continue;
      }
      CHECK_FALSE(gone);  // once there is no steady state, more current brings none back
      for (std::size_t i = 0; i < wires.size(); ++i) CHECK(now->at(i).value >= last->at(i).value - 1e-5);
      CHECK(now->at(raised) > last->at(raised));
      last = now;
    }
  }
}

TEST_CASE("order of the wires does not matter") {
  auto wires = mixed_bundle(7, 9);
  const auto first = bundle_temperatures(wires, Sleeve::taped, Celsius(50)).value();
  std::ranges::reverse(wires);
  const auto second = bundle_temperatures(wires, Sleeve::taped, Celsius(50)).value();
  for (std::size_t i = 0; i < wires.size(); ++i) {
    CHECK(first[i].value == doctest::Approx(second[wires.size() - 1 - i].value).epsilon(1e-7));
  }
}

TEST_CASE("core rise of an evenly heated cylinder") {
  // Closed form (any heat transfer text): centre over surface of a cylinder heated evenly is Q / (4 pi k); a wire of
  // 1/n of the section sees (1 - 1/n) of it. Heat in one wire of n: Q ln(n) / (4 pi k).
  const WireBuild build = wire_of(1, "pvc-105");
  constexpr double pi = 3.14159265358979;
  for (const std::size_t n : {2u, 7u, 30u}) {
    const std::vector<LoadedWire> wires(n, LoadedWire{build, Ampere(0)});
    const double count = static_cast<double>(n);
    const std::vector<double> even(n, 10 / count);
    CHECK(core_rises_k(wires, even)[0] ==
          doctest::Approx(10 / (4 * pi * bundle_conductivity_w_per_m_k) * (1 - 1 / count)));
    std::vector<double> one(n, 0);
    one[n / 2] = 10;
    for (const double rise_k : core_rises_k(wires, one)) {
      CHECK(rise_k == doctest::Approx(10 / (4 * pi * bundle_conductivity_w_per_m_k) * std::log(count)));
    }
  }
}

TEST_CASE("a bundle is fast") {
  const auto wires = mixed_bundle(3, 20);
  const auto start = std::chrono::steady_clock::now();
  double sum = 0;
  for (int i = 0; i < 300; ++i) sum += bundle_temperatures(wires, Sleeve::braided, Celsius(30 + i * 0.01))->at(0).value;
  const double us = std::chrono::duration<double, std::micro>(std::chrono::steady_clock::now() - start).count() / 300;
  MESSAGE("bundle of 20 wires " << us << " us");
  CHECK(sum > 0);
  CHECK(us < 1000);
}

}  // namespace loomproof
