// The zones as drawings and papers tell them.
#pragma once

#include <vector>

#include "solve/solved.h"

namespace loomproof {

/// Zone of every terminal: that of the check, but what no source reaches and ends at a part that feeds sensors
/// (position sensor leads of a controller) is a signal, not a lead without a source.
std::vector<Zone> shown_zones(const Solved&);

}  // namespace loomproof
