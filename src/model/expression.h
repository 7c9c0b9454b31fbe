// The few sums that a kind's data may ask for: products and quotients of attributes and literals.
#pragma once

#include <string_view>

#include "model/element.h"
#include "model/loom.h"

namespace loomproof {

/// `series * cell_resistance / parallel`, `12 V`, `pull_in | 0.75 * coil.volts`.
/// The first alternative whose names are all known gives the value. When none does, the Datum carries the first
/// missing attribute of the *first* alternative, which is what the user would write.
/// @return value in base units; `at` is the place of the last attribute that the user wrote himself.
Datum evaluate(std::string_view expression, const Part& part);

}  // namespace loomproof
