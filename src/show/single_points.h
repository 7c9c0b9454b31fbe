// Single points of failure as a person reads them: one line for each thing that happens, with all faults that do it.
#pragma once

#include <string>
#include <vector>

#include "rules/ledger.h"

namespace loomproof {

/// "'drive' gives torque with 'key' off: 'key' stuck in on, 'key.blade' welded", in the order in which they were found.
std::vector<std::string> lines_of(const std::vector<SinglePoint>&);

}  // namespace loomproof
