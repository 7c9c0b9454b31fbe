// Printing, and the way back: what is printed parses to the same value within three digits.
#include "units/print.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "units/parse.h"

using loomproof::Dimension;
using loomproof::show;

namespace {

constexpr Dimension measured[] = {
    Dimension::current, Dimension::voltage,     Dimension::resistance, Dimension::capacitance, Dimension::power,
    Dimension::energy,  Dimension::time,        Dimension::length,     Dimension::area,        Dimension::temperature,
    Dimension::charge,  Dimension::let_through, Dimension::ratio,
};

bool can_be_negative(Dimension d) {
  return d == Dimension::current || d == Dimension::voltage || d == Dimension::power || d == Dimension::ratio;
}

// The number in front of the unit has at most three digits that count, no exponent, no idle zero, no "-0".
void check_form(const std::string& text) {
  CAPTURE(text);
  const std::string number = text.substr(0, text.find(' '));
  CHECK(number.find_first_not_of("-0123456789.") == std::string::npos);
  CHECK(number.rfind('-') != 1);
  const bool fraction = number.find('.') != std::string::npos;
  CHECK_FALSE((fraction && (number.back() == '0' || number.back() == '.')));
  std::string digits;
  std::copy_if(number.begin(), number.end(), std::back_inserter(digits), [](char c) { return c >= '0' && c <= '9'; });
  digits.erase(0, std::min(digits.find_first_not_of('0'), digits.size()));
  digits.erase(digits.find_last_not_of('0') + 1);
  CHECK(digits.size() <= 3);
}

void check_round_trip(double value, Dimension dimension) {
  const std::string text = show(value, dimension);
  CAPTURE(text);
  CAPTURE(value);
  check_form(text);
  const auto back = loomproof::parse_magnitude(text, dimension);
  REQUIRE_MESSAGE(back, back.error);
  // Half of the third digit of 1.00 is the largest loss.
  CHECK(std::abs(back.value->value - value) <= 0.00501 * std::abs(value));
}

}  // namespace

TEST_CASE("a number of many places is shown with its exponent, and can be read back") {
  CHECK(show(loomproof::Celsius(1e-100)) == "1e-100 degC");
  CHECK(show(loomproof::Celsius(-1.234e-13)) == "-1.23e-13 degC");
  CHECK(show(loomproof::Celsius(1e-12)) == "0.000000000001 degC");
  CHECK(show(loomproof::Ampere(2.5e300)) == "2.5e297 kA");
  REQUIRE(loomproof::parse_magnitude("1e-100 degC", Dimension::temperature));
  for (const double value : {9.996e-14, 1e-12, 1e12}) {
    for (const Dimension d : {Dimension::temperature, Dimension::current, Dimension::ratio}) {
      const std::string text = show(value, d);
      CAPTURE(text);
      const auto back = loomproof::parse_magnitude(text, d);
      REQUIRE_MESSAGE(back, back.error);
      CHECK(std::abs(back.value->value - value) <= 0.00501 * value);
    }
  }
}

TEST_CASE("the unit that a person would choose") {
  CHECK(show(loomproof::Ampere(120)) == "120 A");
  CHECK(show(loomproof::Ampere(5400)) == "5.4 kA");
  CHECK(show(loomproof::Ampere(0.02)) == "20 mA");
  CHECK(show(loomproof::Ampere(999.4)) == "999 A");
  CHECK(show(loomproof::Ampere(999.6)) == "1 kA");
  CHECK(show(loomproof::Ampere(-45.67)) == "-45.7 A");
  CHECK(show(loomproof::Ampere(0)) == "0 A");
  CHECK(show(loomproof::Ampere(-0.0)) == "0 A");
  CHECK(show(loomproof::Volt(13.25)) == "13.2 V");
  CHECK(show(loomproof::Volt(100.8)) == "101 V");
  CHECK(show(loomproof::Ohm(0.0012)) == "1.2 mohm");
  CHECK(show(loomproof::Ohm(10080)) == "10.1 kohm");
  CHECK(show(loomproof::Farad(2200e-6)) == "2.2 mF");
  CHECK(show(loomproof::Farad(470e-6)) == "470 uF");
  CHECK(show(loomproof::Watt(4321)) == "4.32 kW");
  CHECK(show(loomproof::Joule(120)) == "120 J");
  CHECK(show(loomproof::SquareMillimetre(35)) == "35 mm2");
  CHECK(show(loomproof::SquareMillimetre(0.75)) == "0.75 mm2");
  CHECK(show(loomproof::Celsius(131.4)) == "131 degC");
  CHECK(show(loomproof::Celsius(-10)) == "-10 degC");
  CHECK(show(loomproof::Celsius(-0.0001)) == "-0.0001 degC");
  CHECK(show(loomproof::AmpereHour(105)) == "105 Ah");
  CHECK(show(2500, Dimension::let_through) == "2.5 kA2s");
  CHECK(show(0.9, Dimension::ratio) == "0.9");
  CHECK(show(16384, Dimension::count) == "16384");
  CHECK(show(-0.0, Dimension::count) == "0");
}

TEST_CASE("times and lengths change their unit where people do") {
  CHECK(show(loomproof::Second(0.012)) == "12 ms");
  CHECK(show(loomproof::Second(45)) == "45 s");
  CHECK(show(loomproof::Second(119)) == "119 s");
  CHECK(show(loomproof::Second(119.96)) == "2 min");
  CHECK(show(loomproof::Second(480)) == "8 min");
  CHECK(show(loomproof::Second(7140)) == "119 min");
  CHECK(show(loomproof::Second(7194)) == "2 h");
  CHECK(show(loomproof::Second(7200)) == "2 h");
  CHECK(show(loomproof::Metre(0.15)) == "150 mm");
  CHECK(show(loomproof::Metre(0.9996)) == "1 m");
  CHECK(show(loomproof::Metre(1.9)) == "1.9 m");
}

TEST_CASE("a value that no number can show is named, not hidden") {
  CHECK(show(loomproof::Volt(std::numeric_limits<double>::quiet_NaN())) == "undefined V");
  CHECK(show(loomproof::Second(std::numeric_limits<double>::infinity())) == "infinite s");
  CHECK(show(-std::numeric_limits<double>::infinity(), Dimension::ratio) == "minus infinite");
  CHECK(show(std::numeric_limits<double>::quiet_NaN(), Dimension::count) == "undefined");
}

TEST_CASE("print then parse keeps three digits, in every dimension, over 21 decades") {
  const double mantissas[] = {1, 1.004999, 1.005001, 1.2345, 2,     2.4999, 3.3333,
                              5, 6.7351,   8.999,    9.949,  9.994, 9.9951, 9.9999};
  for (const Dimension dimension : measured) {
    for (int exponent = -11; exponent <= 9; ++exponent) {
      for (const double mantissa : mantissas) {
        const double value = mantissa * std::pow(10.0, exponent);
        check_round_trip(value, dimension);
        if (can_be_negative(dimension)) check_round_trip(-value, dimension);
      }
    }
  }
  for (int t = -273; t <= 1500; ++t) check_round_trip(t, Dimension::temperature);
  for (int s = 1; s < 20000; s += 7) check_round_trip(s, Dimension::time);
}

TEST_CASE("counts come back whole") {
  for (int n = 0; n <= 1000000; n = n < 2000 ? n + 1 : n + 997) {
    const auto back = loomproof::parse_magnitude(show(n, Dimension::count), Dimension::count);
    REQUIRE_MESSAGE(back, back.error);
    CHECK(back.value->value == n);
  }
}
