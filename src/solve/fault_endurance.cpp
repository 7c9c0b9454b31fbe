// How long a wire of the loom bears a fault current.
#include "solve/fault_endurance.h"

#include <algorithm>

#include "solve/damage_limit.h"
#include "solve/insulation.h"

namespace loomproof {

std::optional<WireEndurance> fault_endurance(SquareMillimetre area, std::string_view name, Celsius around) {
  const auto insulation = find_insulation(name);
  if (!insulation) return std::nullopt;
  const Celsius start = std::max(around, std::min(insulation->limit, around + Celsius(30)));
  std::optional<WireEndurance> endurance = wire_endurance(area, name, start, around);
  if (!endurance) return std::nullopt;
  const DamageLimits limits{insulation->limit, insulation->limit + Celsius(25), insulation->limit + Celsius(50),
                            std::max(insulation->short_circuit_limit, insulation->limit + Celsius(50))};
  endurance->overload_limit = std::min(damage_limit(limits, fault_horizon), insulation->short_circuit_limit);
  return endurance;
}

}  // namespace loomproof
