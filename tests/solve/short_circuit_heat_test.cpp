// Adiabatic heating against the printed k factors and worked examples.
#include "solve/short_circuit_heat.h"

#include <doctest/doctest.h>

#include <cmath>

#include "solve/heat_reference.h"
#include "solve/insulation.h"

namespace loomproof {

TEST_CASE("every k of IEC 60364-5-54 annex A") {
  int rows = 0;
  for (const auto& row : heat_reference::read("k_factors.csv")) {
    if (row.at("kind") != "table") continue;
    REQUIRE(row.at("conductor") == "copper");
    const double k = adiabatic_k(Celsius(heat_reference::number(row, "theta_initial_C")),
                                 Celsius(heat_reference::number(row, "theta_final_C")));
    CAPTURE(row.at("insulation"));
    CHECK(k == doctest::Approx(heat_reference::number(row, "value")).epsilon(0.007));
    ++rows;
  }
  CHECK(rows == 12);
}

TEST_CASE("K of IEC 60949") {
  // K = 226 with I^2 t = K^2 S^2 ln(...), from memory.
  CHECK(adiabatic_k(Celsius(20), Celsius(20 + (234.5 + 20) * (std::exp(1.0) - 1))) ==
        doctest::Approx(226).epsilon(0.003));
}

TEST_CASE("worked example 15: 3000 A for 0.4 s") {
  CHECK(3000 * std::sqrt(0.4) / 115 == doctest::Approx(16.5).epsilon(0.001));
  CHECK(adiabatic_area(Ampere(3000), Second(0.4), Celsius(70), Celsius(160)).value ==
        doctest::Approx(16.499).epsilon(0.007));
}

TEST_CASE("worked example 16: Onderdonk") {
  // 16 AWG (2581 cmil), 25 degC, 5 s, melting at 1083 degC: 168.9 A with the sign put right.
  const SquareMillimetre area(2581 * 5.067075e-4);
  const double a2s = adiabatic_let_through_a2s(area, Celsius(25), Celsius(1083));
  CHECK(std::sqrt(a2s / 5) == doctest::Approx(168.9).epsilon(0.01));
}

TEST_CASE("there and back") {
  const SquareMillimetre area(2.5);
  for (const double last_c : {71.0, 100.0, 160.0, 400.0, 1000.0}) {
    const double a2s = adiabatic_let_through_a2s(area, Celsius(70), Celsius(last_c));
    CHECK(adiabatic_temperature(area, a2s, Celsius(70))->value == doctest::Approx(last_c).epsilon(1e-10));
    const Second time = adiabatic_time(area, Ampere(500), Celsius(70), Celsius(last_c));
    CHECK(time.value * 500 * 500 == doctest::Approx(a2s));
    CHECK(adiabatic_area(Ampere(500), time, Celsius(70), Celsius(last_c)).value == doctest::Approx(2.5));
  }
  CHECK_FALSE(adiabatic_temperature(area, 1e9, Celsius(70)));
  CHECK(std::isinf(adiabatic_time(area, Ampere(0), Celsius(70), Celsius(160)).value));
  CHECK(adiabatic_time(area, Ampere(100), Celsius(170), Celsius(160)) == Second(0));
  CHECK(adiabatic_k(Celsius(160), Celsius(160)) == 0);
}

TEST_CASE("final temperatures of the insulation table are the printed ones") {
  // IEC 60364-5-54 annex A: PVC 160, XLPE and EPR 250, rubber 220, silicone 350 degC.
  for (const Insulation& row : insulations()) {
    CAPTURE(row.name);
    if (row.name.starts_with("pvc")) CHECK(row.short_circuit_limit == Celsius(160));
    if (row.name.starts_with("xlpe") || row.name.starts_with("epr")) CHECK(row.short_circuit_limit == Celsius(250));
    if (row.name.starts_with("rubber")) CHECK(row.short_circuit_limit == Celsius(220));
    if (row.name.starts_with("silicone")) CHECK(row.short_circuit_limit == Celsius(350));
  }
}

}  // namespace loomproof
