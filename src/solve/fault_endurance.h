// How long a wire of the loom bears a fault current, from the state that its duty may have left it in.
#pragma once

#include <optional>
#include <string_view>

#include "solve/heat_over_time.h"
#include "units/quantity.h"

namespace loomproof {

/// Before the fault the wire is as warm as its duty may make it: 30 K above `around`, not above what its insulation
/// bears for ever. The overload limit is what the insulation bears for `fault_horizon` (solve/damage_limit.h).
/// @return nullopt for an unknown insulation or no area
std::optional<WireEndurance> fault_endurance(SquareMillimetre area, std::string_view insulation, Celsius around);

}  // namespace loomproof
