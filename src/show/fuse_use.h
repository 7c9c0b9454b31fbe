// The largest current that a fuse or a wire carries while nothing is wrong.
#pragma once

#include <cstddef>

#include "solve/solved.h"

namespace loomproof {

struct FuseUse {
  Ampere most;
  bool precharge = false;  // not held: the first moment of a precharge, full pack and empty bus
};

/// Over all settled situations and duty points, and over every precharge that runs through it. What surges into cold
/// lamps, or into a capacitance without a resistor before it, is not in it.
FuseUse most_in_use(const Solved&, std::size_t fuse);
FuseUse most_in_use(const Solved&, WireIndex);

}  // namespace loomproof
