// Closing surges against printed worked examples and against ngspice.
#include "solve/inrush.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>

#include "spice.h"

using namespace loomproof;

// Source: worked example 12, open textbook, DC chapter 16 (seen). The book prints 3 to 4 figures.
TEST_CASE("worked example 12: a capacitor charging through a resistor") {
  struct Printed {
    double time_s, voltage_v, current_ua;
  };
  constexpr std::array<Printed, 9> printed{{{0, 0, 1500},
                                            {0.5, 5.902, 909.8},
                                            {1, 9.482, 551.8},
                                            {2, 12.970, 203.0},
                                            {3, 14.253, 74.68},
                                            {4, 14.725, 27.47},
                                            {5, 14.899, 10.11},
                                            {6, 14.963, 3.718},
                                            {7.25, 14.989, 1.065}}};
  for (const Printed& row : printed) {
    CAPTURE(row.time_s);
    const double v = charging_voltage(Volt(15), Ohm(1e4), Farad(1e-4), Second(row.time_s)).value;
    CHECK(std::fabs(v - row.voltage_v) <= 0.0006);
    CHECK((15 - v) / 1e4 * 1e6 == doctest::Approx(row.current_ua).epsilon(6e-4));
  }
  CHECK(charging_time(Volt(15), Ohm(1e4), Farad(1e-4), Volt(12.970)).value == doctest::Approx(2).epsilon(1e-3));
  CHECK(charging_time(Volt(15), Ohm(1e4), Farad(1e-4), Volt(0)).value == 0);
  CHECK(std::isinf(charging_time(Volt(15), Ohm(1e4), Farad(1e-4), Volt(15)).value));
}

// Source: worked example 14 (inputs seen, number by the stated formula).
TEST_CASE("worked example 14: half the charge's energy is lost whatever the resistance") {
  for (const double loop_ohm : {0.01, 1.0, 470.0})
    CHECK(capacitor_inrush(Volt(100), Ohm(loop_ohm), Farad(0.01)).energy.value == doctest::Approx(50));
}

TEST_CASE("a capacitor surge by hand and by ngspice") {
  // 100.8 V, 60 mohm, 2200 uF: 1680 A, 132 us, 11.18 J, 186.3 A2s.
  const CapacitorInrush surge = capacitor_inrush(Volt(100.8), Ohm(0.06), Farad(2.2e-3));
  CHECK(surge.peak.value == doctest::Approx(1680));
  CHECK(surge.time_constant.value == doctest::Approx(132e-6));
  CHECK(surge.energy.value == doctest::Approx(0.5 * 2.2e-3 * 100.8 * 100.8));
  const auto run = spice::transient("v1 a 0 100.8\nr1 a b 0.06\nc1 b 0 2.2m ic=0", 0.5e-6, 1.5e-3, {"v(b)", "i(v1)"});
  double let_through_a2s = 0, peak_a = 0;
  for (std::size_t i = 1; i < run.time_s.size(); ++i) {
    const double one_a = run.columns[1][i - 1], two_a = run.columns[1][i];
    let_through_a2s += (one_a * one_a + two_a * two_a) / 2 * (run.time_s[i] - run.time_s[i - 1]);
    peak_a = std::max(peak_a, std::fabs(two_a));
  }
  CHECK(surge.let_through_a2s == doctest::Approx(let_through_a2s).epsilon(0.01));
  CHECK(surge.peak.value == doctest::Approx(peak_a).epsilon(0.01));
  // A residue of 5 % has a twentieth of the peak and a four-hundredth of the energy.
  const CapacitorInrush rest = capacitor_inrush(Volt(100.8 * 0.05), Ohm(0.06), Farad(2.2e-3));
  CHECK(rest.peak / surge.peak == doctest::Approx(0.05));
  CHECK(rest.let_through_a2s / surge.let_through_a2s == doctest::Approx(0.0025));
}

// Source: worked example 25 (seen): steady currents; cold 10 to 12 times, about twice after 3 to 5 ms.
TEST_CASE("worked example 25: lamps") {
  CHECK(lamp_steady_current(Watt(3), Volt(12)).value == doctest::Approx(0.25));
  CHECK(lamp_steady_current(Watt(25), Volt(24)).value == doctest::Approx(1.04).epsilon(0.005));
  CHECK(lamp_steady_current(Watt(25), Volt(42)).value == doctest::Approx(0.595).epsilon(0.001));
  CHECK(lamp_current(Ampere(1), Second(0), 12).value == doctest::Approx(12));
  CHECK(lamp_inrush_multiple >= 12);
  const double after_3ms = lamp_current(Ampere(1), Second(3e-3), 11).value;
  const double after_5ms = lamp_current(Ampere(1), Second(5e-3), 11).value;
  CHECK(after_3ms > 2);
  CHECK(after_5ms < 2);
  CHECK(lamp_current(Ampere(1), Second(0.1)).value == doctest::Approx(1));
}

TEST_CASE("let-through of cold lamps is the integral over their current, less what flows once they are warm") {
  // 55 W at 12 V, 12 times cold, beside 3 A of another consumer; summed in steps of a microsecond, by Simpson's rule.
  const Ampere lamp = lamp_steady_current(Watt(55), Volt(12)), other(3);
  const double multiple = 12, step_s = 1e-6;
  const auto excess = [&](double t) {
    const double now = other.value + lamp_current(lamp, Second(t), multiple).value, warm = other.value + lamp.value;
    return now * now - warm * warm;
  };
  double sum = 0;
  for (int i = 0; i < 50000; ++i) {
    const double t = i * step_s;
    sum += step_s / 6 * (excess(t) + 4 * excess(t + step_s / 2) + excess(t + step_s));
  }
  CHECK(lamp_surge_let_through_a2s(other + lamp, lamp * (multiple - 1)) == doctest::Approx(sum).epsilon(1e-6));
  CHECK(lamp_surge_let_through_a2s(other, Ampere(0)) == 0);
}
