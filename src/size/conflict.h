// Why nothing can hold, in as few facts as will do.
#pragma once

#include <vector>

#include "size/problem.h"
#include "size/value.h"

namespace loomproof {

/// A smallest set (none can be left out) of constraints of an unsolvable problem, with what the stock has where that
/// bounds it; in the order of the file.
std::vector<Reason> facts_in_conflict(const Problem&, const std::vector<Value>&);

}  // namespace loomproof
