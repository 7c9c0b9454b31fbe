// Text to quantities: one number, one unit, nothing else; whatever is different is an error that names the right form.
#include "units/parse.h"

#include <fmt/core.h>

#include <charconv>
#include <cmath>

#include "units/conductor.h"
#include "units/quote.h"
#include "units/unit_table.h"
#include "units/words.h"
#include "units/wrong.h"

namespace loomproof {
namespace {

// Longest text that can be one quantity; more is a mistake and need not be read.
constexpr std::size_t longest_magnitude = 64;
// Beyond these nothing on a vehicle is measured, and squares and reciprocals of what lies between stay finite.
constexpr double largest_value = 1e12;
constexpr double smallest_value = 1e-15;
constexpr double largest_count = 1e6;
constexpr double absolute_zero_c = -273.15;

std::string_view noun_of(Dimension dimension) {
  const std::string_view form = expected_form(dimension);
  return form.substr(0, form.find(" such as "));
}

std::string_view example_of(Dimension dimension) {
  constexpr std::string_view link = " such as ";
  const std::string_view form = expected_form(dimension);
  return form.substr(form.find(link) + link.size());
}

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

bool allows_negative(Dimension dimension) {
  switch (dimension) {
    case Dimension::current:
    case Dimension::voltage:
    case Dimension::power:
    case Dimension::temperature:
    case Dimension::ratio:
      return true;
    default:
      return false;
  }
}

struct Number {
  double value = 0;
  std::string_view rest;
};

std::string not_one_number(std::string_view text, Dimension expected) {
  return fmt::format("{} does not start with one decimal number; expected {}", quoted(text), expected_form(expected));
}

// A decimal number at the start of `text`. std::from_chars alone would let "inf" and "nan" through.
Parsed<Number> read_number(std::string_view text, Dimension expected) {
  constexpr std::string_view minus = "\u2212";
  std::string_view digits = text;
  double sign = 1;
  if (digits.starts_with('+') || digits.starts_with('-')) {
    sign = digits[0] == '-' ? -1 : 1;
    digits.remove_prefix(1);
  } else if (digits.starts_with(minus)) {
    sign = -1;
    digits.remove_prefix(minus.size());
  }
  const bool starts =
      !digits.empty() && (is_digit(digits[0]) || (digits[0] == '.' && digits.size() > 1 && is_digit(digits[1])));
  if (!starts)
    return wrong<Number>(fmt::format("{} is not a number; expected {}", quoted(text), expected_form(expected)));
  Number number;
  const char* const end = digits.data() + digits.size();
  const auto [stop, failure] = std::from_chars(digits.data(), end, number.value, std::chars_format::general);
  if (failure != std::errc{}) {
    return wrong<Number>(fmt::format("{} is out of range; expected {}", quoted(text), expected_form(expected)));
  }
  number.value *= sign;
  number.rest = std::string_view(stop, static_cast<std::size_t>(end - stop));
  if (number.rest.size() > 1 && number.rest[0] == ',' && is_digit(number.rest[1])) {
    return wrong<Number>(
        fmt::format("{} has a comma in its number; write a point for decimals and no thousands mark", quoted(text)));
  }
  if (number.rest.starts_with('x') || number.rest.starts_with('X') || number.rest.starts_with('.') ||
      number.rest.starts_with('_')) {
    return wrong<Number>(not_one_number(text, expected));
  }
  return {number, {}};
}

std::string unit_error(std::string_view text, std::string_view unit, Dimension expected) {
  const std::string plain = ascii_unit(unit);
  const std::string near = near_unit(plain, expected);
  const std::string hint = near.empty() ? "" : fmt::format("; did you mean {}?", near);
  if (const Unit* known = find_unit(plain)) {
    return fmt::format("{} is {}; expected {}{}", quoted(text), noun_of(known->dimension), expected_form(expected),
                       hint);
  }
  if (!near.empty()) return fmt::format("unit {} is not known{}", quoted(unit), hint);
  // A known unit with more behind it: two values, or a clause that has no meaning here.
  const std::size_t gap = find_blank(unit);
  if (gap != std::string_view::npos && find_unit(ascii_unit(unit.substr(0, gap)))) {
    return fmt::format("{} is not expected after the unit in {}; expected {}", quoted(trimmed(unit.substr(gap))),
                       quoted(text), expected_form(expected));
  }
  if (expected == Dimension::count) {
    return fmt::format("unit {} after a count; expected {} without unit", quoted(unit), expected_form(expected));
  }
  return fmt::format("unit {} is not known; expected {}", quoted(unit), expected_form(expected));
}

std::string range_error(double value, std::string_view text, Dimension dimension) {
  const std::string_view form = expected_form(dimension);
  if (value < 0 && !allows_negative(dimension)) return fmt::format("{} is negative; expected {}", quoted(text), form);
  if (dimension == Dimension::temperature && value < absolute_zero_c - 1e-9) {
    return fmt::format("{} is below absolute zero, -273.15 degC", quoted(text));
  }
  if (dimension == Dimension::area && value == 0) return fmt::format("{} is no wire; expected {}", quoted(text), form);
  if (dimension == Dimension::count && value != std::floor(value)) {
    return fmt::format("{} is not whole; expected {}", quoted(text), form);
  }
  const bool counted = dimension == Dimension::count;
  if (!(std::abs(value) <= (counted ? largest_count : largest_value))) {
    return fmt::format("{} is too large to be meant; expected {}", quoted(text), form);
  }
  if (value != 0 && dimension != Dimension::temperature && std::abs(value) < smallest_value) {
    return fmt::format("{} is too small to be meant; expected {}", quoted(text), form);
  }
  return {};
}

// The gauge of `6`, `0`, `2/0`; leading zeros are refused because 00 is an old way to write 2/0.
std::optional<int> gauge_of(std::string_view text) {
  if (text.size() == 3 && text[0] >= '1' && text[0] <= '4' && text.substr(1) == "/0") return 1 - (text[0] - '0');
  if (text.empty() || text.size() > 2 || !is_digit(text[0]) || !is_digit(text.back())) return std::nullopt;
  const int gauge = text.size() == 1 ? text[0] - '0' : 10 * (text[0] - '0') + (text[1] - '0');
  if ((text.size() == 2 && text[0] == '0') || gauge > 40) return std::nullopt;
  return gauge;
}

// How a gauge in one of the usual wrong forms is rightly written: `AWG 6`, `00 AWG`, `2/0`.
std::string right_gauge(std::string_view text) {
  std::string_view bare = text;
  if (bare.starts_with("AWG")) bare.remove_prefix(3);
  if (bare.ends_with("AWG")) bare.remove_suffix(3);
  bare = trimmed(bare);
  if (bare.size() >= 2 && bare.size() <= 4 && bare.find_first_not_of('0') == std::string_view::npos) {
    return fmt::format("{}/0 AWG", bare.size());
  }
  return gauge_of(bare) ? fmt::format("{} AWG", bare) : std::string();
}

Parsed<Magnitude> read_gauge(std::string_view text, Dimension expected) {
  if (expected != Dimension::area) {
    return wrong<Magnitude>(fmt::format("{} is a wire size; expected {}", quoted(text), expected_form(expected)));
  }
  const auto gauge = text.ends_with("AWG") ? gauge_of(trimmed(text.substr(0, text.size() - 3))) : std::nullopt;
  if (gauge) return {Magnitude{awg_area(*gauge).value, Dimension::area, std::string(text)}, {}};
  if (const std::string right = right_gauge(text); !right.empty()) {
    return wrong<Magnitude>(fmt::format("{} is not the form of a gauge; write {}", quoted(text), right));
  }
  return wrong<Magnitude>(fmt::format("{} is not a gauge from 4/0 to 40; the form is 6 AWG or 2/0 AWG", quoted(text)));
}

}  // namespace

Parsed<Magnitude> parse_magnitude(std::string_view text, Dimension expected) {
  text = trimmed(text);
  const std::string_view form = expected_form(expected);
  if (text.empty()) return wrong<Magnitude>(fmt::format("nothing is written here; expected {}", form));
  if (text.size() > longest_magnitude) {
    return wrong<Magnitude>(fmt::format("{} is too long for a quantity; expected {}", quoted(text), form));
  }
  if (split_at_word(text, "AWG").split || text.ends_with("AWG") || text.starts_with("AWG")) {
    return read_gauge(text, expected);
  }
  const Parsed<Number> number = read_number(text, expected);
  if (!number) return wrong<Magnitude>(number.error);
  const std::string_view unit = trimmed_start(number.value->rest);
  double value = number.value->value;
  if (unit.empty()) {
    if (expected != Dimension::ratio && expected != Dimension::count) {
      return wrong<Magnitude>(fmt::format("bare number {}; {} needs a unit, such as {}", quoted(text),
                                          noun_of(expected), example_of(expected)));
    }
  } else if (is_digit(unit[0])) {
    return wrong<Magnitude>(not_one_number(text, expected));
  } else if (expected == Dimension::area && unit[0] == '/' && gauge_of(text)) {
    return wrong<Magnitude>(fmt::format("bare gauge {}; write {}", quoted(text), right_gauge(text)));
  } else {
    const Unit* known = find_unit(ascii_unit(unit));
    if (!known || known->dimension != expected) return wrong<Magnitude>(unit_error(text, unit, expected));
    value = (value - known->offset) * known->times / known->over;
  }
  if (std::string error = range_error(value, text, expected); !error.empty()) return wrong<Magnitude>(std::move(error));
  return {Magnitude{value + 0.0, expected, std::string(text)}, {}};  // + 0.0 turns -0 into 0
}

std::string_view expected_form(Dimension dimension) {
  switch (dimension) {
    case Dimension::current:
      return "a current such as 120 A";
    case Dimension::voltage:
      return "a voltage such as 48 V";
    case Dimension::resistance:
      return "a resistance such as 47 ohm or 1.2 mohm";
    case Dimension::capacitance:
      return "a capacitance such as 2200 uF";
    case Dimension::power:
      return "a power such as 25 W or 5 kW";
    case Dimension::energy:
      return "an energy such as 120 J or 2 kWh";
    case Dimension::time:
      return "a time such as 45 s or 8 min";
    case Dimension::length:
      return "a length such as 0.4 m or 12 in";
    case Dimension::area:
      return "a wire size such as 35 mm2 or 6 AWG";
    case Dimension::temperature:
      return "a temperature such as 105 degC";
    case Dimension::charge:
      return "a charge such as 100 Ah";
    case Dimension::let_through:
      return "a let-through such as 2500 A2s";
    case Dimension::acceleration:
      return "a deceleration such as 1.2 m/s2";
    case Dimension::ratio:
      return "a ratio such as 0.9 or 90 %";
    case Dimension::count:
      return "a whole number such as 16";
  }
  return "a quantity such as 120 A";
}

}  // namespace loomproof
