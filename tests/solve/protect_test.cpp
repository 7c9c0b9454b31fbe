// Coordination against brute force, against published practice, and in the cases that burn.
#include "solve/protect.h"

#include <doctest/doctest.h>

#include <cmath>
#include <map>
#include <random>
#include <string>

#include "solve/damage_limit.h"
#include "solve/insulation.h"
#include "solve/wire_heat.h"
#include "units/conductor.h"
#include "units/rows.h"

using namespace loomproof;

namespace {

// A wire as one heat capacity: T rises as (1 - exp(-t/tau)) towards a rise that goes with I^2, so the time to the limit
// is -tau ln(1 - (I0/I)^2), with the adiabatic t = tau (I0/I)^2 far above.
struct OneBody {
  double carries_a, tau_s;
  Second operator()(Ampere current) const {
    const double share = std::pow(carries_a / current.value, 2);
    return Second(share >= 1 ? INFINITY : -tau_s * std::log1p(-share));
  }
};

DamageCurve damage_of(const OneBody& wire, double max_a) {
  return DamageCurve::sample(wire, Ampere(wire.carries_a), Ampere(max_a));
}

}  // namespace

TEST_CASE("a sampled damage curve reads back its model") {
  double worst = 0, stated = 0;
  for (const double carries_a : {3.0, 40.0, 250.0})
    for (const double tau_s : {20.0, 600.0}) {
      const OneBody wire{carries_a, tau_s};
      const DamageCurve curve = damage_of(wire, 8000);
      stated = std::max(stated, interpolation_error(curve, wire));
      for (double current_a = carries_a * 1.0002; current_a < 8000; current_a *= 1.0007) {
        const double error = time_to_damage(curve, Ampere(current_a)) / wire(Ampere(current_a)) - 1;
        worst = std::max(worst, std::fabs(error));
      }
      CHECK(std::isinf(time_to_damage(curve, Ampere(carries_a)).value));
      CHECK(time_to_damage(curve, Ampere(carries_a * 1.00001)) <= wire(Ampere(carries_a * 1.00001)));
      CHECK(time_to_damage(curve, Ampere(16000)) / time_to_damage(curve, Ampere(8000)) == doctest::Approx(0.25));
    }
  MESSAGE("largest interpolation error ", worst, ", stated by the curves ", stated);
  CHECK(worst < 1e-3);
  CHECK(worst <= stated * 1.5);
}

TEST_CASE("a damage curve never lies on the long side when its model is odd") {
  const auto never = [](Ampere) { return Second(INFINITY); };
  const DamageCurve harmless = DamageCurve::sample(never, Ampere(10), Ampere(100));
  CHECK(std::isinf(time_to_damage(harmless, Ampere(90)).value));
  CHECK(time_to_damage(harmless, Ampere(110)).value == 0);
  const DamageCurve unknown = DamageCurve::sample([](Ampere) { return Second(NAN); }, Ampere(10), Ampere(100));
  CHECK(time_to_damage(unknown, Ampere(11)).value < 1e-6);
  const DamageCurve nothing = DamageCurve::sample([](Ampere) { return Second(1); }, Ampere(0), Ampere(100));
  CHECK(time_to_damage(nothing, Ampere(5)).value == doctest::Approx(1));
  const DamageCurve narrow = DamageCurve::sample([](Ampere) { return Second(7); }, Ampere(100), Ampere(100.001));
  CHECK(time_to_damage(narrow, Ampere(100.0005)).value == doctest::Approx(7));
}

// The house's own check: the exact search against a scan of 10,000 currents, for 2000 random pairs.
TEST_CASE("worst ratio equals a brute-force scan of 10,000 currents") {
  std::mt19937 random(20240611);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  constexpr OpenerKind kinds[]{OpenerKind::blade,        OpenerKind::high_power_blade, OpenerKind::bolt_in,
                               OpenerKind::cartridge_gg, OpenerKind::breaker_c,        OpenerKind::miniature_fast};
  int finite = 0, fire = 0, harmless = 0;
  double worst_difference = 0;
  for (int pair = 0; pair < 2000; ++pair) {
    const double rated_a = std::exp(uniform(std::log(1.0), std::log(500.0)));
    const OpenerCurve opener =
        pair % 10 == 9 ? definite_time(Ampere(rated_a), Second(0.01), Second(uniform(0.02, 20)), uniform(0, 0.2))
                       : generic_curve(kinds[random() % 6], Ampere(rated_a));
    const OneBody wire{rated_a * std::exp(uniform(std::log(0.8), std::log(12.0))), std::exp(uniform(0, 7))};
    const double top_a = std::min(wire.carries_a, rated_a) * std::exp(uniform(std::log(0.9), std::log(100.0)));
    const DamageCurve damage = damage_of(wire, top_a);
    const Coordination found = coordinate(opener, damage, Ampere(top_a / 2), Ampere(top_a));

    double brute = 0;
    const double from_a = std::min(wire.carries_a, rated_a) * 0.9;
    for (int i = 0; i < 10000; ++i) {
      const double current_a = from_a * std::pow(top_a / from_a, i / 9999.0);
      const double damage_s = wire(Ampere(current_a)).value;
      if (std::isinf(damage_s)) continue;
      brute = std::max(brute, slowest(opener, Ampere(current_a)).value / damage_s);
    }
    CAPTURE(pair);
    CAPTURE(rated_a);
    CAPTURE(wire.carries_a);
    CAPTURE(wire.tau_s);
    CAPTURE(top_a);
    CAPTURE(found.ratio);
    CAPTURE(brute);
    if (brute == 0) {
      ++harmless;
      REQUIRE(found.ratio == 0);
    } else if (std::isinf(brute)) {
      ++fire;
      REQUIRE(std::isinf(found.ratio));
    } else {
      ++finite;
      worst_difference = std::max(worst_difference, std::fabs(found.ratio / brute - 1));
      REQUIRE(found.ratio == doctest::Approx(brute).epsilon(0.01));
      REQUIRE(found.ratio >= brute * (1 - 2e-3));
      // The stated place carries the stated figures.
      REQUIRE(found.opens_after / found.damage_after == doctest::Approx(found.ratio).epsilon(1e-9));
    }
  }
  MESSAGE(finite, " finite, ", fire, " fire cases, ", harmless, " harmless; largest difference ", worst_difference);
  CHECK(finite > 700);
  CHECK(fire > 200);
  CHECK(harmless > 50);
}

TEST_CASE("between far samples the stationary point is found exactly") {
  std::mt19937 random(7);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  int inside = 0;
  for (int pair = 0; pair < 200; ++pair) {
    const OpenerCurve fuse = generic_curve(OpenerKind::bolt_in, Ampere(100));
    const OneBody wire{uniform(136, 300), uniform(10, 600)};
    // Three samples only: the curve that is judged is the sampled one, whatever its model.
    const DamageCurve coarse = DamageCurve::sample(wire, Ampere(wire.carries_a), Ampere(5000), 3);
    const Coordination found = coordinate(fuse, coarse, Ampere(1000), Ampere(5000));
    double brute = 0;
    for (int i = 1; i < 20000; ++i) {
      const Ampere current(wire.carries_a * std::pow(5000 / wire.carries_a, i / 20000.0));
      brute = std::max(brute, slowest(fuse, current) / time_to_damage(coarse, current));
    }
    REQUIRE(found.ratio >= brute * (1 - 1e-9));
    REQUIRE(found.ratio <= brute * 1.01);
    const double at = found.worst.value / 100;
    bool at_bend = std::fabs(found.worst.value - 5000) < 1e-6;
    for (const EdgePoint& p : fuse.slowest) at_bend = at_bend || std::fabs(at - p.multiple) < 1e-9;
    for (const auto& sample : coarse.samples)
      at_bend = at_bend || std::fabs(found.worst.value - coarse.current_of(sample.u)) < 1e-6;
    if (!at_bend) ++inside;
  }
  MESSAGE(inside, " of 200 worst currents lie between bends");
  CHECK(inside > 10);
}

TEST_CASE("the fire case: more than the wire carries, less than opens the fuse") {
  const OpenerCurve fuse = generic_curve(OpenerKind::blade, Ampere(30));
  const Coordination found = coordinate(fuse, damage_of({20, 60}, 900), Ampere(500), Ampere(900));
  CHECK(std::isinf(found.ratio));
  CHECK_FALSE(found.protects());
  CHECK(found.worst.value == doctest::Approx(40.5));
  CHECK(std::isinf(found.opens_after.value));
  CHECK(std::isfinite(found.damage_after.value));
  // A bolted short at the far end clears all the same: the two are different questions.
  CHECK(found.smallest_in_time);
}

TEST_CASE("a source that cannot open the fuse") {
  const OpenerCurve fuse = generic_curve(OpenerKind::blade, Ampere(30));
  const Coordination thin = coordinate(fuse, damage_of({10, 60}, 20), Ampere(20), Ampere(20));
  CHECK(std::isinf(thin.ratio));
  CHECK(thin.worst.value == doctest::Approx(20));
  CHECK_FALSE(thin.smallest_opens);
  const Coordination thick = coordinate(fuse, damage_of({25, 60}, 20), Ampere(20), Ampere(20));
  CHECK(thick.ratio == 0);
  CHECK(thick.protects());
  CHECK_FALSE(thick.smallest_opens);
  CHECK(std::isinf(thick.smallest_damage_after.value));
}

TEST_CASE("an unknown or boundless fault current is never a pass") {
  const OpenerCurve fuse = generic_curve(OpenerKind::blade, Ampere(10));
  const DamageCurve wire = damage_of({20, 60}, 900);
  CHECK(coordinate(fuse, wire, Ampere(500), Ampere(900)).protects());
  CHECK_FALSE(coordinate(fuse, wire, Ampere(500), Ampere(NAN)).protects());
  CHECK_FALSE(coordinate(fuse, wire, Ampere(500), Ampere(INFINITY)).protects());
  CHECK_FALSE(coordinate(fuse, wire, Ampere(NAN), Ampere(900)).smallest_in_time);
}

TEST_CASE("a wire that carries nothing is never protected") {
  const DamageCurve hot = DamageCurve::sample([](Ampere) { return Second(0); }, Ampere(0), Ampere(1000));
  CHECK(std::isinf(coordinate(generic_curve(OpenerKind::blade, Ampere(5)), hot, Ampere(100), Ampere(1000)).ratio));
}

// Source: tests/reference/insulation_classes.csv (ISO 6722-1 table of classes); 160 and 250 degC from k_factors.csv.
TEST_CASE("damage limit meets the published class temperatures at their times") {
  int classes = 0;
  for (const rows::Row& row : rows::read("reference/insulation_classes.csv")) {
    if (row.at("t_overload_C").empty()) continue;
    ++classes;
    const Celsius at_3000h(std::stod(row.at("t_max_C"))), at_240h(std::stod(row.at("t_short_C")));
    const Celsius at_6h(std::stod(row.at("t_overload_C")));
    const DamageLimits limits{at_3000h, at_240h, at_6h, Celsius(at_6h.value + 60)};
    CHECK(damage_limit(limits, Second(3000 * 3600)).value == doctest::Approx(at_3000h.value));
    CHECK(damage_limit(limits, Second(240 * 3600)).value == doctest::Approx(at_240h.value));
    CHECK(damage_limit(limits, Second(6 * 3600)).value == doctest::Approx(at_6h.value));
    CHECK(damage_limit(limits, Second(5)).value == at_6h.value + 60);
    CHECK(damage_limit(limits, Second(0.01)).value == at_6h.value + 60);
    CHECK(damage_limit(limits, Second(1e9)).value == at_3000h.value);
    double last_c = INFINITY;
    for (double time_s = 1; time_s < 1e8; time_s *= 1.1) {
      const double limit_c = damage_limit(limits, Second(time_s)).value;
      CHECK(limit_c <= last_c);
      last_c = limit_c;
    }
  }
  CHECK(classes == 8);
  // Figures out of order (a PVC whose overload class exceeds its short-circuit temperature) never gain with time.
  const DamageLimits odd{Celsius(125), Celsius(150), Celsius(175), Celsius(160)};
  CHECK(damage_limit(odd, Second(6 * 3600)).value == 160);
}

TEST_CASE("time to the damage limit is where heating meets it") {
  const DamageLimits limits{Celsius(100), Celsius(125), Celsius(150), Celsius(250)};
  const auto heating = [](Second time) { return Celsius(20 + 300 * -std::expm1(-time.value / 100)); };
  const Second found = time_to_damage_limit(heating, limits);
  CHECK(heating(found).value == doctest::Approx(damage_limit(limits, found).value).epsilon(1e-6));
  const auto mild = [](Second time) { return Celsius(20 + 129 * -std::expm1(-time.value / 100)); };
  CHECK(std::isinf(time_to_damage_limit(mild, limits).value));
  CHECK(time_to_damage_limit([](Second) { return Celsius(NAN); }, limits).value <= 1e-6);
}

namespace {

// A wire of NEC table 310.17, 90 degC column, 30 degC ambient, as one heat capacity: C T' = I^2 R(T) - K (T - Ta). K
// from the table's ampacity (60 K at rated), C of the copper alone (the demanding choice), R(T) linear; solved in
// closed form.
struct NecWire {
  SquareMillimetre area;
  double rated_a = 0;  // at 90 degC in 30 degC
  double ambient_c = 30;

  Celsius at(Ampere current, Second time) const {
    const double r0 = copper_ohm_per_metre(area, Celsius(0));
    const double alpha_r = copper_ohm_per_metre(area, Celsius(1)) - r0;
    const double k = rated_a * rated_a * (r0 + alpha_r * 90) / 60;
    const double c = 3.45e6 * area.value * 1e-6;
    const double square = current.value * current.value;
    // T' = (p - q T)/c with p = I^2 r0 + K Ta, q = K - I^2 alpha r.
    const double p = square * r0 + k * ambient_c, q = k - square * alpha_r;
    const double x = q * time.value / c;
    if (x < -600) return Celsius(1e9);
    const double grown = std::fabs(x) < 1e-9 ? time.value / c : -std::expm1(-x) / q;
    return Celsius(ambient_c + (p - q * ambient_c) * grown);
  }

  DamageCurve damage(const DamageLimits& limits, double max_a) const {
    const auto time = [&](Ampere current) {
      return time_to_damage_limit([&](Second t) { return at(current, t); }, limits);
    };
    double low_a = 0.01, high_a = 100 * rated_a;
    while (high_a / low_a > 1 + 1e-9) {
      const double middle_a = std::sqrt(low_a * high_a);
      (std::isinf(time(Ampere(middle_a)).value) ? low_a : high_a) = middle_a;
    }
    return DamageCurve::sample(time, Ampere(low_a), Ampere(max_a));
  }
};

// 90 degC class of NEC by the +25 K, +50 K that all ISO 6722-1 classes have.
const DamageLimits ninety{Celsius(90), Celsius(115), Celsius(140), Celsius(250)};

std::map<std::string, NecWire> nec_wires() {
  std::map<std::string, NecWire> found;
  for (const rows::Row& row : rows::read("reference/ampacity_free_air.csv"))
    if (row.at("table") == "NEC 310.17" && row.at("conductor_temp_C") == "90" && row.at("size_unit") == "AWG" &&
        row.at("ambient_C") == "30") {
      const std::string& size = row.at("size");
      const int gauge = size.ends_with("/0") ? 1 - std::stoi(size) : std::stoi(size);
      found[size] = {awg_area(gauge), std::stod(row.at("current_A")), 30};
    }
  return found;
}

OpenerCurve customary_fuse(double rated_a) {
  return generic_curve(rated_a <= 40 ? OpenerKind::blade : OpenerKind::bolt_in, Ampere(rated_a));
}

}  // namespace

// Source: FAA AC 43.13-1B table 11-3 (wire and fuse chart), wires as NEC 310.17.
TEST_CASE("every wire of the FAA chart is protected by its fuse") {
  const auto wires = nec_wires();
  int rows_seen = 0;
  for (const rows::Row& row : rows::read("reference/fuse_ratings.csv")) {
    if (row.at("quantity") != "fuse_rating") continue;
    const std::string size = row.at("item").substr(0, row.at("item").find(' '));
    if (!wires.contains(size)) continue;
    ++rows_seen;
    const double rated_a = std::stod(row.at("value"));
    const Coordination found =
        coordinate(customary_fuse(rated_a), wires.at(size).damage(ninety, 3000), Ampere(300), Ampere(3000));
    MESSAGE(size, " AWG, ", rated_a, " A: ratio ", found.ratio, " at ", found.worst.value, " A");
    CHECK(found.protects());
  }
  CHECK(rows_seen >= 10);
}

namespace {

// A real cable by the heat kernel as one heat capacity (copper and insulation): marches its temperature up
// and stops where it meets the damage limit.
struct Cable {
  WireBuild build;
  DamageLimits limits;
  Celsius ambient;
  static constexpr double step_k = 0.25;

  static Cable of(double area_mm2, const std::string& insulation, double ambient_c) {
    const Insulation found = find_insulation(insulation).value();
    const double limit_c = found.limit.value;
    return {wire_build(SquareMillimetre(area_mm2), insulation).value(),
            {found.limit, Celsius(limit_c + 25), Celsius(limit_c + 50), found.short_circuit_limit},
            Celsius(ambient_c)};
  }

  DamageCurve damage(double max_a) const {
    std::vector<double> out_w, ohm;
    for (double c = ambient.value + step_k / 2; c < limits.short_circuit_5s.value + 1; c += step_k) {
      out_w.push_back(heat_out_w_per_m(build, Celsius(c), ambient));
      ohm.push_back(ohm_per_metre_at(build, Celsius(c)));
    }
    const double copper_mm2 = build.area.value;
    const double insulation_mm2 =
        0.785398 * (std::pow(build.outside_diameter_mm, 2) - std::pow(build.conductor_diameter_mm, 2));
    const double heat_j_per_k = (3.45e6 * copper_mm2 + build.volumetric_heat_j_per_m3_k * insulation_mm2) * 1e-6;
    const auto time = [&](Ampere current) {
      double time_s = 0, c = ambient.value;
      for (std::size_t i = 0; i < out_w.size(); ++i) {
        const double net_w = current.value * current.value * ohm[i] - out_w[i];
        if (net_w <= 0) return Second(INFINITY);
        time_s += heat_j_per_k * step_k / net_w;
        c += step_k;
        if (time_s > fault_horizon.value) return Second(INFINITY);
        if (c >= damage_limit(limits, Second(time_s)).value) return Second(time_s);
      }
      return Second(time_s);
    };
    return DamageCurve::sample(time, ampacity(build, damage_limit(limits, fault_horizon), ambient), Ampere(max_a));
  }
};

}  // namespace

// Source: IEC 60364-4-43 clause 433.1 (from memory): I2 <= 1.45 Iz is protection. Reference ambient 30 degC.
TEST_CASE("a wire stands 1.45 times its rating for the conventional time, as IEC 60364-4-43 takes it") {
  for (const std::string insulation : {"pvc-70", "xlpe-90"})
    for (const double area_mm2 : {1.0, 6.0, 35.0}) {
      const Cable cable = Cable::of(area_mm2, insulation, 30);
      const double rated_a = ampacity(cable.build, cable.limits.long_term, cable.ambient).value;
      const double stands_a = ampacity(cable.build, damage_limit(cable.limits, fault_horizon), cable.ambient).value;
      MESSAGE(insulation, " ", area_mm2, " mm2 stands ", stands_a / rated_a, " of its rating for 1 h");
      CHECK(stands_a / rated_a > 1.45);
      CHECK(stands_a / rated_a < 1.65);
    }
}

// Source: 33 CFR 183.455(c)(2) and student-contest rule EV6.1.1: fuse at most 100 % of the conductor's rating. That is
// the tool's own (`allowed_current`) in 40 degC air, and the fuse the largest standard rating not above it.
// Two sizes too thin: the fuse has exactly the rating of the wire two metric sizes thicker.
TEST_CASE("a fuse up to the wire's rating protects it, that of a wire two sizes thicker does not") {
  const auto standard_below = [](double at_most_a) {
    double found_a = 0;
    for (const double a : {5.0,   7.5,   10.0,  15.0,  20.0,  25.0,  30.0,  40.0,  50.0,  60.0,  70.0, 80.0,
                           100.0, 125.0, 150.0, 175.0, 200.0, 225.0, 250.0, 300.0, 350.0, 400.0, 500.0})
      if (a <= at_most_a) found_a = a;
    return found_a;
  };
  const std::vector<double> sizes{0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70};
  const double max_a = 3000;
  for (const std::string insulation : {"pvc-70", "pvc-85", "pvc-105", "xlpe-90", "xlpe-125"}) {
    double worst = 0, worst_half_more = INFINITY;
    for (std::size_t i = 0; i < sizes.size(); ++i) {
      CAPTURE(insulation);
      CAPTURE(sizes[i]);
      const Cable cable = Cable::of(sizes[i], insulation, 40);
      const DamageCurve damage = cable.damage(max_a);
      const double rated_a = allowed_current(cable.build, cable.limits.long_term, cable.ambient).value;
      const Coordination own = coordinate(customary_fuse(standard_below(rated_a)), damage, Ampere(300), Ampere(max_a));
      CAPTURE(rated_a);
      CAPTURE(own.ratio);
      CHECK(own.protects());
      worst = std::max(worst, own.ratio);
      const Coordination half = coordinate(customary_fuse(1.5 * rated_a), damage, Ampere(300), Ampere(max_a));
      worst_half_more = std::min(worst_half_more, half.ratio);
      if (i + 2 >= sizes.size()) continue;
      const Cable thick = Cable::of(sizes[i + 2], insulation, 40);
      const double thick_a = allowed_current(thick.build, thick.limits.long_term, thick.ambient).value;
      const Coordination thin = coordinate(customary_fuse(thick_a), damage, Ampere(300), Ampere(max_a));
      CHECK_FALSE(thin.protects());
    }
    MESSAGE(insulation, ": worst ratio with its own rating ", worst, ", least with 150 % ", worst_half_more);
  }
}

// Source: worked example 18, IEC 60269-2 (from memory); ratio in fuse_ratings.csv.
TEST_CASE("worked example 18: gG at 1.6 to 1 is selective by standard, the next rating is not") {
  const std::vector<double> ratings{16, 20, 25, 32, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500};
  const OpenerKind gg = OpenerKind::cartridge_gg;
  CHECK(selective_by_standard(gg, Ampere(63), gg, Ampere(100)));
  CHECK(selective_by_standard(gg, Ampere(100), gg, Ampere(160)));
  CHECK_FALSE(selective_by_standard(gg, Ampere(10), gg, Ampere(16)));
  CHECK_FALSE(selective_by_standard(OpenerKind::blade, Ampere(20), gg, Ampere(100)));
  for (std::size_t i = 0; i + 1 < ratings.size(); ++i) {
    const Ampere down(ratings[i]), next(ratings[i + 1]);
    CHECK_FALSE(selective_by_standard(gg, down, gg, next));
    CHECK_FALSE(selectivity(generic_curve(gg, down), generic_curve(gg, next), Ampere(10000)).selective());
    if (i + 2 >= ratings.size()) continue;
    const Ampere wide(ratings[i + 2]);
    CHECK(selective_by_standard(gg, down, gg, wide));
    // The gates bear it out where they are tight: from the upstream 0.1 s gate upward the downstream is never later.
    const OpenerCurve low = generic_curve(gg, down), high = generic_curve(gg, wide);
    const double from_a = 1.0001 * published_gates(gg, wide)[4].percent / 100 * wide.value;
    for (double current_a = from_a; current_a < 50000; current_a *= 1.01) {
      CAPTURE(current_a);
      CAPTURE(down.value);
      REQUIRE(slowest(low, Ampere(current_a)) <= fastest(high, Ampere(current_a)) * (1 + 1e-9));
    }
    // Two steps further the bands alone show it.
    if (i + 4 < ratings.size()) {
      CHECK(selectivity(low, generic_curve(gg, Ampere(ratings[i + 4])), Ampere(10000)).selective());
    }
  }
}

TEST_CASE("selectivity is judged up to the largest fault current only") {
  const OpenerCurve load = generic_curve(OpenerKind::blade, Ampere(10)),
                    main = definite_time(Ampere(100), Second(0.1), Second(1));
  CHECK(selectivity(load, main, Ampere(99)).selective());
  CHECK(selectivity(load, main, Ampere(1000)).selective());
  const OpenerCurve slow = generic_curve(OpenerKind::bolt_in, Ampere(150));
  const Selectivity wrong = selectivity(slow, main, Ampere(1000));
  CHECK_FALSE(wrong.selective());
  CHECK(std::isinf(wrong.ratio));
  CHECK(selectivity(slow, main, Ampere(90)).selective());
  // A scan finds no worse current than the exact search.
  const OpenerCurve up = generic_curve(OpenerKind::bolt_in, Ampere(100)),
                    down = generic_curve(OpenerKind::blade, Ampere(40));
  const Selectivity exact = selectivity(down, up, Ampere(2000));
  double brute = 0;
  for (double current_a = 40; current_a < 2000; current_a *= 1.0005) {
    const Second late = slowest(down, Ampere(current_a)), soon = fastest(up, Ampere(current_a));
    if (!std::isinf(soon.value)) brute = std::max(brute, late / soon);
  }
  CHECK(exact.ratio == doctest::Approx(brute).epsilon(0.01));
  CHECK(exact.ratio >= brute);
}

TEST_CASE("a gap between what may open the upstream and what must open the downstream is seen") {
  // Above 100 A the upstream may open after 1 s; the downstream need not open below 150 A and then is the quicker one.
  const auto up = std::get<OpenerCurve>(user_curve(Ampere(100), {{2, 1.0, 5.0}}));
  const OpenerCurve down = definite_time(Ampere(150), Second(0.1), Second(0.5));
  const Selectivity found = selectivity(down, up, Ampere(200));
  CHECK(std::isinf(found.ratio));
  CHECK(found.worst.value > 100);
  CHECK(found.worst.value <= 150);
  CHECK(selectivity(definite_time(Ampere(99), Second(0.1), Second(0.5)), up, Ampere(200)).ratio ==
        doctest::Approx(0.5));
}

TEST_CASE("duty of an opener by hand") {
  const OpenerCurve fuse = generic_curve(OpenerKind::blade, Ampere(20));
  // 30 A for 60 s and 10 A for 540 s: mean square (900 * 60 + 100 * 540) / 600 = 180.
  const DutyLoad load = duty_load(fuse, {{Ampere(30), Second(60)}, {Ampere(10), Second(540)}});
  CHECK(load.rms_a == doctest::Approx(std::sqrt(180.0)));
  CHECK(load.rms_share == doctest::Approx(std::sqrt(180.0) / 20));
  CHECK(load.sustained_share == 0);
  CHECK(load.opening_share == doctest::Approx(60 / fastest(fuse, Ampere(30)).value));
  CHECK(load.opening_share > 1);
  CHECK(*load.pulse_share == 0);
  // 100 A for 20 ms: 200 A2s of the least melting 120^2 * 0.02 = 288 A2s.
  const DutyLoad pulse = duty_load(fuse, {{Ampere(-100), Second(0.02)}, {Ampere(15), Second(600)}});
  CHECK(*pulse.pulse_share == doctest::Approx(200.0 / 288));
  CHECK(pulse.sustained_share == doctest::Approx(0.75));
  // Nothing is known of the fastest edge: any overload may open it.
  CHECK(std::isinf(
      duty_load(generic_curve(OpenerKind::miniature_ul, Ampere(5)), {{Ampere(20), Second(0.1)}}).opening_share));
  CHECK_FALSE(duty_load(definite_time(Ampere(10), Second(1), Second(2)), {}).pulse_share);
}

TEST_CASE("more pulses, less share") {
  CHECK(pulse_share_allowed(1) == doctest::Approx(0.48));
  CHECK(pulse_share_allowed(1000) == doctest::Approx(0.38));
  CHECK(pulse_share_allowed(1e5) == doctest::Approx(0.22));
  CHECK(pulse_share_allowed(1e9) == doctest::Approx(0.15));
  double last = 1;
  for (double pulses = 1; pulses < 1e8; pulses *= 1.5) {
    CHECK(pulse_share_allowed(pulses) <= last);
    last = pulse_share_allowed(pulses);
  }
}
