// Quantities to text: three significant digits, in the unit that a person would choose.
#include "units/print.h"

#include <fmt/core.h>

#include <charconv>
#include <cmath>
#include <span>
#include <string_view>

namespace loomproof {
namespace {

// The number that `text` holds; unlike strtod it does not read the locale's decimal mark.
template <class T>
T number_in(std::string_view text) {
  T number{};
  if (text.starts_with('+')) text.remove_prefix(1);
  std::from_chars(text.data(), text.data() + text.size(), number);
  return number;
}

// More places than that are a row of zeros that nobody counts, and too long to be read back.
constexpr int most_places = 12;

// The digits without trailing zeros behind the point.
std::string trimmed(std::string digits) {
  digits.erase(digits.find_last_not_of('0') + 1);
  if (digits.ends_with('.')) digits.pop_back();
  return digits;
}

// Three significant digits without trailing zeros, and without an exponent unless it takes too many places; `value` is
// finite.
std::string three_digits(double value) {
  if (value == 0) return "0";
  const std::string rounded = fmt::format("{:.2e}", value);
  const int exponent = number_in<int>(std::string_view(rounded).substr(rounded.find('e') + 1));
  if (std::abs(exponent) > most_places)
    return fmt::format("{}e{}", trimmed(rounded.substr(0, rounded.find('e'))), exponent);
  if (exponent >= 2) {
    std::string digits;
    for (const char c : rounded.substr(0, rounded.find('e'))) {
      if (c != '.') digits += c;
    }
    return digits + std::string(static_cast<std::size_t>(exponent - 2), '0');
  }
  return trimmed(fmt::format("{:.{}f}", value, 2 - exponent));
}

struct Step {
  std::string_view unit;
  double in_base = 1;  // one unit in base units
  double from = 0;     // smallest base value that is shown in it
};

constexpr Step current_steps[] = {{"uA", 1e-6}, {"mA", 1e-3, 1e-3}, {"A", 1, 1}, {"kA", 1e3, 1e3}};
constexpr Step voltage_steps[] = {{"uV", 1e-6}, {"mV", 1e-3, 1e-3}, {"V", 1, 1}, {"kV", 1e3, 1e3}};
constexpr Step resistance_steps[] = {
    {"uohm", 1e-6}, {"mohm", 1e-3, 1e-3}, {"ohm", 1, 1}, {"kohm", 1e3, 1e3}, {"Mohm", 1e6, 1e6}};
constexpr Step capacitance_steps[] = {
    {"pF", 1e-12}, {"nF", 1e-9, 1e-9}, {"uF", 1e-6, 1e-6}, {"mF", 1e-3, 1e-3}, {"F", 1, 1}};
constexpr Step power_steps[] = {{"mW", 1e-3}, {"W", 1, 1}, {"kW", 1e3, 1e3}};
constexpr Step energy_steps[] = {{"mJ", 1e-3}, {"J", 1, 1}, {"kJ", 1e3, 1e3}};
constexpr Step time_steps[] = {{"us", 1e-6}, {"ms", 1e-3, 1e-3}, {"s", 1, 1}, {"min", 60, 120}, {"h", 3600, 7200}};
constexpr Step length_steps[] = {{"mm", 1e-3}, {"m", 1, 1}};
constexpr Step area_steps[] = {{"mm2"}};
constexpr Step temperature_steps[] = {{"degC"}};
constexpr Step charge_steps[] = {{"mAh", 1e-3}, {"Ah", 1, 1}};
constexpr Step let_through_steps[] = {{"A2s"}, {"kA2s", 1e3, 1e3}};
constexpr Step acceleration_steps[] = {{"m/s2"}};
constexpr Step ratio_steps[] = {{""}};

std::span<const Step> steps_of(Dimension dimension) {
  switch (dimension) {
    case Dimension::current:
      return current_steps;
    case Dimension::voltage:
      return voltage_steps;
    case Dimension::resistance:
      return resistance_steps;
    case Dimension::capacitance:
      return capacitance_steps;
    case Dimension::power:
      return power_steps;
    case Dimension::energy:
      return energy_steps;
    case Dimension::time:
      return time_steps;
    case Dimension::length:
      return length_steps;
    case Dimension::area:
      return area_steps;
    case Dimension::temperature:
      return temperature_steps;
    case Dimension::charge:
      return charge_steps;
    case Dimension::let_through:
      return let_through_steps;
    case Dimension::acceleration:
      return acceleration_steps;
    case Dimension::ratio:
    case Dimension::count:
      return ratio_steps;
  }
  return ratio_steps;
}

// What stands before the unit for a value that no number can show; a message must not hide it.
std::string_view not_finite(double value) {
  if (std::isnan(value)) return "undefined";
  return value > 0 ? "infinite" : "minus infinite";
}

// The largest unit that the value reaches after rounding: 999.6 A is 1 kA, 119.9 min is 2 h.
const Step& step_for(double size, std::span<const Step> steps) {
  std::size_t chosen = 0;
  while (chosen + 1 < steps.size()) {
    const double shown = number_in<double>(three_digits(size / steps[chosen].in_base));
    if (shown * steps[chosen].in_base < steps[chosen + 1].from * (1 - 1e-12)) break;
    ++chosen;
  }
  return steps[chosen];
}

const Step& base_step(std::span<const Step> steps) {
  for (const Step& step : steps) {
    if (step.in_base == 1) return step;
  }
  return steps.front();
}

}  // namespace

std::string show(double base_value, Dimension dimension) {
  const std::span<const Step> steps = steps_of(dimension);
  const bool finite = std::isfinite(base_value);
  if (finite && dimension == Dimension::count) return fmt::format("{:.0f}", std::round(base_value) + 0.0);
  const Step& step = finite && base_value != 0 ? step_for(std::abs(base_value), steps) : base_step(steps);
  std::string number = finite ? three_digits(base_value / step.in_base) : std::string(not_finite(base_value));
  return step.unit.empty() ? number : fmt::format("{} {}", number, step.unit);
}

std::string show(Ampere x) {
  return show(x.value, Dimension::current);
}
std::string show(Volt x) {
  return show(x.value, Dimension::voltage);
}
std::string show(Ohm x) {
  return show(x.value, Dimension::resistance);
}
std::string show(Farad x) {
  return show(x.value, Dimension::capacitance);
}
std::string show(Watt x) {
  return show(x.value, Dimension::power);
}
std::string show(Joule x) {
  return show(x.value, Dimension::energy);
}
std::string show(Second x) {
  return show(x.value, Dimension::time);
}
std::string show(Metre x) {
  return show(x.value, Dimension::length);
}
std::string show(SquareMillimetre x) {
  return show(x.value, Dimension::area);
}
std::string show(Celsius x) {
  return show(x.value, Dimension::temperature);
}
std::string show(AmpereHour x) {
  return show(x.value, Dimension::charge);
}

}  // namespace loomproof
