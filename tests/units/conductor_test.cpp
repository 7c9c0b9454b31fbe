// Copper conductors against published tables: every row of tests/reference/awg.csv and metric_resistance.csv is
// compared or left out for a reason that is written here; a row that is neither fails.
#include "units/conductor.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdlib>
#include <numbers>
#include <string>

#include "rows.h"
#include "units/parse.h"

using loomproof::Celsius;
using loomproof::SquareMillimetre;

namespace {

constexpr double cmil_mm2 = 5.067075e-4;
constexpr double ft_m = 0.3048;
constexpr double in_mm = 25.4;
// copper_ohm_per_metre() adds 2 % for the lay of strands; solid wire in a published table has none.
constexpr double lay = 1.02;

double number(const std::string& text) {
  return std::strtod(text.c_str(), nullptr);
}

double solid_diameter_mm(SquareMillimetre area) {
  return std::sqrt(area.value * 4 / std::numbers::pi);
}

double ohm_per_kft(SquareMillimetre area, double temperature_c) {
  return loomproof::copper_ohm_per_metre(area, Celsius(temperature_c)) * 1000 * ft_m;
}

// Half of the last printed digit: a table cannot be met more closely than it was printed.
double half_digit(const std::string& printed) {
  const auto point = printed.find('.');
  const int decimals = point == std::string::npos ? 0 : static_cast<int>(printed.size() - point - 1);
  return 0.5 * std::pow(10.0, -decimals);
}

bool within(double is, double expected, double relative) {
  return std::abs(is - expected) <= relative * std::abs(expected);
}

SquareMillimetre gauge_area(const std::string& awg) {
  const auto parsed = loomproof::parse_magnitude(awg + " AWG", loomproof::Dimension::area);
  REQUIRE_MESSAGE(parsed, parsed.error);
  return SquareMillimetre(parsed.value->value);
}

double conductor_mm(double size) {
  return loomproof::conductor_diameter_mm(SquareMillimetre(size));
}
double cable_mm(double size) {
  return loomproof::cable_diameter_mm(SquareMillimetre(size));
}
double ohm_per_km(double size) {
  return 1000 * loomproof::copper_ohm_per_metre(SquareMillimetre(size), Celsius(20));
}

}  // namespace

TEST_CASE("AWG against ASTM B258, NBS Handbook 100, NEC chapter 9 table 8 and FAA AC 43.13-1B table 11-9") {
  int compared = 0;
  int left_out = 0;
  std::map<std::string, std::string> stranded_cmil;
  for (const rows::Row& row : rows::read("reference/awg.csv")) {
    if (row.at("quantity") == "stranded_nominal_area") stranded_cmil[row.at("awg")] = row.at("value");
  }
  for (const rows::Row& row : rows::read("reference/awg.csv")) {
    const std::string& awg = row.at("awg");
    const std::string key = row.at("quantity") + " " + row.at("unit");
    const double printed = number(row.at("value"));
    const double digit = half_digit(row.at("value"));
    const SquareMillimetre area = gauge_area(awg);
    CAPTURE(awg);
    CAPTURE(key);
    CAPTURE(row.at("source"));
    ++compared;
    // The tables print four digits, some of them rounded from rounded values: 0.05 %.
    if (key == "solid_diameter in") {
      CHECK(within(solid_diameter_mm(area) / in_mm, printed, 5e-4));
    } else if (key == "solid_diameter mm") {
      CHECK(within(solid_diameter_mm(area), printed, 5e-5));
    } else if (key == "solid_area cmil") {
      CHECK(within(area.value / cmil_mm2, printed, 5e-4));
    } else if (key == "solid_area mm2") {
      CHECK(within(area.value, printed, 5e-5));
    } else if (key == "solid_copper_resistance_20C ohm/kft") {
      CHECK(within(ohm_per_kft(area, 20) / lay, printed, 5e-4));
    } else if (key == "solid_copper_resistance_20C ohm/km") {
      CHECK(within(ohm_per_kft(area, 20) / ft_m / lay, printed, 5e-4));
    } else if (key == "solid_copper_resistance_75C_uncoated ohm/kft") {
      // Half of the third printed digit, and 0.05 % as above for what was rounded before (16 AWG needs 0.03 % of it).
      CHECK(std::abs(ohm_per_kft(area, 75) / lay - printed) <= digit + 5e-4 * printed);
    } else if (key == "stranded_copper_resistance_75C_uncoated ohm/kft") {
      // Three printed digits; table 8 builds on its own strand diameters, so 0.5 %.
      CHECK(within(ohm_per_kft(area, 75), printed, 5e-3));
    } else if (key == "stranded_tinned_max_resistance_20C ohm/kft" && awg != "24") {
      // A maximum for tinned strands, of an area of its own. At that area plain nominal copper must lie below it; tin
      // and the maker's allowance take up to 15 % (measured over these rows: 9 to 14 % where three digits are
      // printed).
      const double ours = ohm_per_kft(SquareMillimetre(number(stranded_cmil.at(awg)) * cmil_mm2), 20);
      CAPTURE(ours / printed);
      CHECK(ours <= printed + digit);
      CHECK(ours >= 0.85 * (printed - digit));
    } else if (key == "stranded_tinned_max_resistance_20C ohm/kft" || key == "stranded_nominal_area cmil") {
      // 24 AWG: a high-strength alloy, 30 % above copper. Nominal areas: an aircraft wire's stranding, not the AWG
      // definition (12 AWG is 11 % thinner, 20 AWG 16 % thicker); used above as the area of the resistance.
      --compared;
      ++left_out;
    } else {
      FAIL("a row that no check judges");
    }
  }
  CHECK(compared == 6 * 34 + 6 + 15 + 16);
  CHECK(left_out == 17 + 1);
}

TEST_CASE("metric sizes against ISO 6722-1 (reference rows from memory), exactly, and against IEC 60228 (seen)") {
  int compared = 0;
  int left_out = 0;
  for (const rows::Row& row : rows::read("reference/metric_resistance.csv")) {
    const double size = number(row.at("size_mm2"));
    const double printed = number(row.at("value"));
    const std::string& conductor = row.at("conductor");
    const std::string& quantity = row.at("quantity");
    CAPTURE(size);
    CAPTURE(conductor);
    CAPTURE(quantity);
    ++compared;
    if (conductor.starts_with("ISO 6722-1") && quantity == "max_resistance_20C") {
      CHECK(within(ohm_per_km(size), printed, 1e-12));
    } else if (quantity == "conductor_diameter_max") {
      CHECK(conductor_mm(size) == printed);
    } else if (quantity == "cable_outer_diameter_max") {
      CHECK(cable_mm(size) == printed);
    } else if (conductor == "IEC 60228 class 5 plain copper") {
      // Not the table in use below 150 mm2, yet a check on the ISO rows: one standard's limits lie 4 to 5.5 % below the
      // other's.
      CHECK(ohm_per_km(size) <= 0.960 * printed);
      CHECK(ohm_per_km(size) >= 0.945 * printed);
    } else if (conductor == "IEC 60228 class 2 plain copper") {
      // Coarse strands for fixed installations; no vehicle wire is made so.
      --compared;
      ++left_out;
    } else {
      FAIL("a row that no check judges");
    }
  }
  CHECK(compared == 26 + 26 + 11 + 15);
  CHECK(left_out == 15);
}

TEST_CASE("insulation wall: the fit against ISO 6722-1 thin-wall rows and battery cable") {
  // An area a hair beside the nominal one takes the formula in place of the row; its conductor diameter does too, so
  // the wall is recovered from the two diameters and set round the row's conductor.
  double worst = 0;
  for (const rows::Row& row : rows::read("reference/metric_resistance.csv")) {
    if (row.at("quantity") != "cable_outer_diameter_max") continue;
    const double d_mm = conductor_mm(number(row.at("size_mm2")));
    const double same_d_mm2 = std::numbers::pi / 4 * (d_mm / 1.13) * (d_mm / 1.13);
    const double fitted_mm = cable_mm(same_d_mm2);
    CAPTURE(row.at("size_mm2"));
    CHECK(within(fitted_mm, number(row.at("value")), 0.05));
    worst = std::max(worst, std::abs(fitted_mm / number(row.at("value")) - 1));
  }
  CHECK(worst > 0.01);  // a fit to rounded rows cannot be this good: the rows themselves would have been read
  // Thin-walled battery cable, from memory: about 11 mm and 13 mm.
  CHECK(within(cable_mm(35), 11, 0.05));
  CHECK(within(cable_mm(50), 13, 0.05));
}

TEST_CASE("a larger nominal size has less resistance and a larger diameter") {
  const double sizes[] = {0.22, 0.35, 0.5, 0.75, 1,  1.25, 1.5, 2,  2.5, 3,  4,  5,   6,   8,   10,
                          12,   16,   20,  25,   30, 35,   40,  50, 60,  70, 95, 120, 150, 185, 240};
  for (std::size_t i = 1; i < std::size(sizes); ++i) {
    CAPTURE(sizes[i]);
    CHECK(ohm_per_km(sizes[i]) < ohm_per_km(sizes[i - 1]));
    CHECK(conductor_mm(sizes[i]) > conductor_mm(sizes[i - 1]));
    CHECK(cable_mm(sizes[i]) > cable_mm(sizes[i - 1]));
    CHECK(cable_mm(sizes[i]) > conductor_mm(sizes[i]));
    // A maximum for strands can never lie below solid copper of the nominal area (IACS); nor 30 % above it.
    const double solid = 1.7241e1 / sizes[i];
    CHECK(ohm_per_km(sizes[i]) > solid);
    CHECK(ohm_per_km(sizes[i]) < 1.3 * solid);
  }
}

TEST_CASE("AWG there and back") {
  for (int gauge = -3; gauge <= 40; ++gauge) {
    CAPTURE(gauge);
    const SquareMillimetre area = loomproof::awg_area(gauge);
    CHECK(loomproof::awg_of(area) == gauge);
    CHECK(loomproof::awg_of(area * 1.0049) == gauge);
    CHECK(loomproof::awg_of(area * 0.9951) == gauge);
    CHECK_FALSE(loomproof::awg_of(area * 1.0051));
    CHECK_FALSE(loomproof::awg_of(area * 0.9949));
  }
  for (const double none : {0.0, -1.0, 35.0, 1e300, 1e-300, double(INFINITY), double(NAN)}) {
    CHECK_FALSE(loomproof::awg_of(SquareMillimetre(none)));
  }
}

TEST_CASE("worked examples of tests/reference/worked_examples.md") {
  // Examples 4 (aluminium) and 8 onward (networks, transients, heat, fuses, lamps) are left out: no function of this
  // folder computes them.
  SUBCASE("1: minimum conductor, Lessons In Electric Circuits, DC chapter 12") {
    const double needed_cmil = 10.09 * 2300 / (5.0 / 25.0);
    CHECK(std::round(needed_cmil) == 116035);
    CHECK(loomproof::awg_area(-1).value / cmil_mm2 > needed_cmil);
    CHECK(loomproof::awg_area(0).value / cmil_mm2 < needed_cmil);
  }
  SUBCASE("2: 2300 ft of 14 AWG, Lessons In Electric Circuits, DC chapter 12") {
    // The book takes 10.09 ohm cmil/ft and a solid wire; our copper is IACS, 1.7241e-8 ohm m, which is 10.371 in that
    // unit.
    const double book_ohm_m = 10.09 * cmil_mm2 * 1e-6 / ft_m;
    const double per_m = loomproof::copper_ohm_per_metre(gauge_area("14"), Celsius(20)) / lay * book_ohm_m / 1.7241e-8;
    CHECK(within(per_m * 2300 * ft_m, 5.651, 5e-4));
    CHECK(within(230 / (2 * per_m * 2300 * ft_m), 20.352, 5e-4));
  }
  SUBCASE("3: two wires of 15 ohm at 20 C and at 35 C, Lessons In Electric Circuits, DC chapter 12") {
    // The book's alpha is 0.004041, ours 0.00393 (IEC 60287-1-1): 0.16 % of the wire at 35 C, 0.02 % of the loop.
    const double wire_ohm = 15 * loomproof::copper_temperature_factor(Celsius(35));
    CHECK(within(wire_ohm, 15.909, 2e-3));
    CHECK(within(14 / (2 * wire_ohm + 250), 0.049677, 2.5e-4));
    CHECK(loomproof::copper_temperature_factor(Celsius(20)) == 1.0);
  }
  SUBCASE("5, 6: wire chart of FAA AC 43.13-1B tables 11-7 and 11-8") {
    // The chart's wires are tinned and of their own area: the drop of plain copper at that area lies below, within 15
    // %.
    const auto drop_v = [](double cmil, double feet) {
      return 20 * feet * ft_m * loomproof::copper_ohm_per_metre(SquareMillimetre(cmil * cmil_mm2), Celsius(20));
    };
    const double cases[][3] = {{26818, 107, 0.942}, {9354, 39, 0.98}, {9354, 156, 3.93}, {9354, 273, 6.88}};
    for (const auto& [cmil, feet, printed] : cases) {
      CHECK(drop_v(cmil, feet) < printed);
      CHECK(drop_v(cmil, feet) > 0.85 * printed);
    }
  }
  SUBCASE("7: run length at 182 C, FAA AC 43.13-1B example 2") {
    const double allowed_ft = 15.5 / loomproof::copper_temperature_factor(Celsius(182));
    CHECK(within(allowed_ft, 9.47, 1e-3));
    // The same over all temperatures: (234.5 + T) / 254.5 and 1 + 0.00393 (T - 20) differ by less than 0.02 %.
    for (int t = -40; t <= 260; t += 20) {
      CHECK(within(loomproof::copper_temperature_factor(Celsius(t)), (234.5 + t) / 254.5, 3e-4));
    }
  }
}
