// Faults that leave the same circuit behind, so that one of them answers for all.
#pragma once

#include <cstddef>
#include <vector>

#include "solve/fault_network.h"

namespace loomproof {

/// By fault: a number that it shares with those that nothing looked at can tell from it. Two kinds of faults share one:
/// - a break anywhere in a chain: lines in series, joined by nodes that nothing else hangs on and nobody looks at. The
///   same current, none, is left in all of the chain wherever it is broken;
/// - a bridge between the same two nodes.
std::vector<std::size_t> fault_classes(const FaultNetwork&, const std::vector<Fault>&);

}  // namespace loomproof
