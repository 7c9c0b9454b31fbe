// Any text to the quantities, and the way back.
#include <array>
#include <cmath>
#include <string>

#include <fmt/format.h>

#include "targets.h"
#include "units/parse.h"
#include "units/print.h"

namespace loomproof::fuzz {
namespace {

struct Written {
  Dimension dimension;
  std::string_view base_unit;
};

// Base units as quantity.h names them.
constexpr std::array<Written, 14> dimensions{{{Dimension::current, " A"},
                                              {Dimension::voltage, " V"},
                                              {Dimension::resistance, " ohm"},
                                              {Dimension::capacitance, " F"},
                                              {Dimension::power, " W"},
                                              {Dimension::energy, " J"},
                                              {Dimension::time, " s"},
                                              {Dimension::length, " m"},
                                              {Dimension::area, " mm2"},
                                              {Dimension::temperature, " degC"},
                                              {Dimension::charge, " Ah"},
                                              {Dimension::let_through, " A2s"},
                                              {Dimension::ratio, ""},
                                              {Dimension::count, ""}}};

void check_value(const Magnitude& magnitude, const Written& as) {
  const double value = magnitude.value;
  promise(std::isfinite(value), "a quantity is finite", magnitude.written);
  const auto same = parse_magnitude(magnitude.written, as.dimension);
  promise(same && same.value->value == value, "the text as written parses to the same value", magnitude.written);
  const std::string whole = fmt::format("{}{}", value, as.base_unit);  // the shortest digits that lose nothing
  const auto exact = parse_magnitude(whole, as.dimension);
  promise(exact && exact.value->value == value, "the value in full parses to the same value", whole);
  const std::string shown = show(value, as.dimension);
  const auto back = parse_magnitude(shown, as.dimension);
  promise(back.value.has_value(), "what is printed parses", shown + ": " + back.error);
  const double off = std::abs(back.value->value - value);
  promise(off <= 0.00501 * std::abs(value), "printing loses half of the third digit at most", shown);
  promise(show(back.value->value, as.dimension) == shown, "what is printed prints the same again", shown);
}

template <class T>
bool told(const Parsed<T>& parsed) {
  promise(parsed.value.has_value() != !parsed.error.empty(), "either a value or an error");
  promise(is_harmless(parsed.error), "an error is one harmless line", parsed.error);
  return parsed.value.has_value();
}

}  // namespace

void units(std::string_view bytes) {
  if (bytes.empty()) return;
  const Written& as = dimensions[static_cast<unsigned char>(bytes[0]) % dimensions.size()];
  const std::string_view text = bytes.substr(1);
  if (const auto one = parse_magnitude(text, as.dimension); told(one)) check_value(*one.value, as);
  if (const auto timed = parse_timed(text, as.dimension); told(timed)) {
    check_value(timed.value->magnitude, as);
    promise(!timed.value->lasts || timed.value->lasts->value >= 0, "a time is not negative", text);
  }
  if (const auto range = parse_range(text, as.dimension); told(range)) {
    check_value(range.value->low, as);
    check_value(range.value->high, as);
    promise(range.value->low.value <= range.value->high.value, "a range is not reversed", text);
  }
  const Written& beside = dimensions[(static_cast<unsigned char>(bytes[0]) / dimensions.size()) % dimensions.size()];
  if (const auto both = parse_at(text, as.dimension, beside.dimension); told(both)) {
    check_value(both.value->magnitude, as);
    if (both.value->at) check_value(*both.value->at, beside);
  }
}

}  // namespace loomproof::fuzz
