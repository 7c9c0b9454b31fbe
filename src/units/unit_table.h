// The units that loomproof reads, each with its dimension and its exact ratio to the base unit of quantity.h.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "units/quantity.h"

namespace loomproof {

/// base value = (written - offset) * times / over. Two whole factors instead of one fraction keep `2200 uF` exact.
struct Unit {
  std::string_view name;
  Dimension dimension;
  double times = 1;
  double over = 1;
  double offset = 0;
};

/// Every unit, AWG left out because its values are gauges and not multiples.
std::span<const Unit> known_units();

/// The unit of exactly this ASCII name, or nullptr; letter case counts, because mW is not MW.
const Unit* find_unit(std::string_view name);

/// "did you mean A?" without the question's lead-in: the unit or units of `expected` that `name` comes near to,
/// joined by " or "; empty when nothing is near.
std::string near_unit(std::string_view name, Dimension expected);

/// `text` in the ASCII spelling of units: `µ` as u, `Ω` as ohm, `²` as 2, `°` as deg.
std::string ascii_unit(std::string_view text);

}  // namespace loomproof
