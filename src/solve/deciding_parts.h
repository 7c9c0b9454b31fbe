// Which switches decide something, and which only feed consumers.
#pragma once

#include <functional>
#include <vector>

#include "solve/circuit.h"

namespace loomproof {

/// By node: whether its voltage decides something: that of a coil, an input, a condition, a converter, a source, a
/// sensor or the drive. Of the coils only those that pass.
std::vector<char> deciding_nodes(const Circuit&, const std::function<bool(const Coil&)>& passes);

/// Whether a part's own position commands something else than its contacts.
bool commands_itself(const Circuit&, std::size_t part);

/// By part: whether moving it can change what a coil, an input, a converter, a source or the drive sees, other than by
/// the current that more consumers draw. A switch that feeds consumers only does not.
std::vector<char> deciding_parts(const Circuit&);

}  // namespace loomproof
