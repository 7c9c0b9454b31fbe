// The table of units and the guesses for misspelt ones.
#include "units/unit_table.h"

#include <algorithm>
#include <array>
#include <utility>
#include <vector>

namespace loomproof {
namespace {

using enum Dimension;

constexpr Unit units[] = {
    {"uA", current, 1, 1e6},
    {"mA", current, 1, 1e3},
    {"A", current},
    {"kA", current, 1e3},
    {"uV", voltage, 1, 1e6},
    {"mV", voltage, 1, 1e3},
    {"V", voltage},
    {"kV", voltage, 1e3},
    {"uohm", resistance, 1, 1e6},
    {"mohm", resistance, 1, 1e3},
    {"ohm", resistance},
    {"kohm", resistance, 1e3},
    {"Mohm", resistance, 1e6},
    {"pF", capacitance, 1, 1e12},
    {"nF", capacitance, 1, 1e9},
    {"uF", capacitance, 1, 1e6},
    {"mF", capacitance, 1, 1e3},
    {"F", capacitance},
    {"mW", power, 1, 1e3},
    {"W", power},
    {"kW", power, 1e3},
    {"mJ", energy, 1, 1e3},
    {"J", energy},
    {"kJ", energy, 1e3},
    {"Wh", energy, 3600},
    {"kWh", energy, 3.6e6},
    {"us", time, 1, 1e6},
    {"ms", time, 1, 1e3},
    {"s", time},
    {"min", time, 60},
    {"h", time, 3600},
    {"mm", length, 1, 1e3},
    {"cm", length, 1, 100},
    {"m", length},
    {"in", length, 254, 1e4},
    {"ft", length, 3048, 1e4},
    {"mm2", area},
    {"degC", temperature},
    {"degF", temperature, 5, 9, 32},
    {"mAh", charge, 1, 1e3},
    {"Ah", charge},
    {"A2s", let_through},
    {"kA2s", let_through, 1e3},
    {"m/s2", acceleration},
    {"%", ratio, 1, 100},
};

struct Habit {
  std::string_view written;  // small letters
  Dimension dimension;
  std::string_view meant;
};

// Words that people write in place of the symbol. They are named in the error, never accepted silently.
constexpr Habit habits[] = {
    {"amp", current, "A"},
    {"amps", current, "A"},
    {"ampere", current, "A"},
    {"amperes", current, "A"},
    {"volt", voltage, "V"},
    {"volts", voltage, "V"},
    {"vdc", voltage, "V"},
    {"ohms", resistance, "ohm"},
    {"r", resistance, "ohm"},
    {"k", resistance, "kohm"},
    {"milliohm", resistance, "mohm"},
    {"mfd", capacitance, "uF"},
    {"farad", capacitance, "F"},
    {"watt", power, "W"},
    {"watts", power, "W"},
    {"joule", energy, "J"},
    {"joules", energy, "J"},
    {"sec", time, "s"},
    {"secs", time, "s"},
    {"second", time, "s"},
    {"seconds", time, "s"},
    {"m", time, "min"},
    {"mins", time, "min"},
    {"minute", time, "min"},
    {"minutes", time, "min"},
    {"hr", time, "h"},
    {"hrs", time, "h"},
    {"hour", time, "h"},
    {"hours", time, "h"},
    {"inch", length, "in"},
    {"inches", length, "in"},
    {"\"", length, "in"},
    {"foot", length, "ft"},
    {"feet", length, "ft"},
    {"'", length, "ft"},
    {"metre", length, "m"},
    {"metres", length, "m"},
    {"meter", length, "m"},
    {"meters", length, "m"},
    {"sqmm", area, "mm2"},
    {"qmm", area, "mm2"},
    {"sq mm", area, "mm2"},
    {"mm", area, "mm2"},
    {"gauge", area, "AWG"},
    {"ga", area, "AWG"},
    {"g", area, "AWG"},
    {"c", temperature, "degC"},
    {"deg", temperature, "degC"},
    {"deg c", temperature, "degC"},
    {"celsius", temperature, "degC"},
    {"f", temperature, "degF"},
    {"deg f", temperature, "degF"},
    {"fahrenheit", temperature, "degF"},
    {"a", charge, "Ah"},
    {"amp hours", charge, "Ah"},
    {"a.h", charge, "Ah"},
    {"i2t", let_through, "A2s"},
    {"percent", ratio, "%"},
    {"pct", ratio, "%"},
};

std::string small_letters(std::string_view text) {
  std::string out(text);
  for (char& c : out) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return out;
}

// True when one letter put in, left out or changed turns one into the other.
bool one_letter_apart(std::string_view a, std::string_view b) {
  if (a.size() > b.size()) std::swap(a, b);
  if (b.size() - a.size() > 1) return false;
  std::size_t same = 0;
  while (same < a.size() && a[same] == b[same]) ++same;
  return a.substr(a.size() == b.size() ? std::min(same + 1, a.size()) : same) == b.substr(std::min(same + 1, b.size()));
}

}  // namespace

std::span<const Unit> known_units() {
  return units;
}

const Unit* find_unit(std::string_view name) {
  const auto found = std::find_if(std::begin(units), std::end(units), [&](const Unit& u) { return u.name == name; });
  return found == std::end(units) ? nullptr : found;
}

std::string near_unit(std::string_view name, Dimension expected) {
  if (name.size() > 16) return {};
  const std::string small = small_letters(name);
  for (const Habit& habit : habits) {
    if (habit.written == small && habit.dimension == expected) return std::string(habit.meant);
  }
  std::vector<std::string_view> candidates;
  for (const Unit& unit : units) {
    if (unit.dimension == expected) candidates.push_back(unit.name);
  }
  if (expected == area) candidates.push_back("AWG");
  const auto listed = [&](auto fits) {
    std::string out;
    for (std::string_view candidate : candidates) {
      if (fits(candidate)) out += (out.empty() ? "" : " or ") + std::string(candidate);
    }
    return out;
  };
  // Two units that differ by case alone (mohm, Mohm) are both named: the choice is the user's.
  std::string near = listed([&](std::string_view c) { return small_letters(c) == small; });
  if (near.empty()) {
    near = listed([&](std::string_view c) { return c.size() >= 3 && one_letter_apart(small_letters(c), small); });
  }
  return near;
}

std::string ascii_unit(std::string_view text) {
  constexpr std::pair<std::string_view, std::string_view> spellings[] = {
      {"\u00B5", "u"}, {"\u03BC", "u"}, {"\u03A9", "ohm"}, {"\u2126", "ohm"}, {"\u00B2", "2"}, {"\u00B0", "deg"},
  };
  std::string out;
  while (!text.empty()) {
    std::size_t taken = 1;
    std::string_view put = text.substr(0, 1);
    for (const auto& [symbol, ascii] : spellings) {
      if (text.starts_with(symbol)) {
        taken = symbol.size();
        put = ascii;
      }
    }
    out += put;
    text.remove_prefix(taken);
  }
  return out;
}

}  // namespace loomproof
