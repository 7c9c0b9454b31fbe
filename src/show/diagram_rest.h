// What a contact does at rest, the state in which the trade draws it.
#pragma once

#include "model/loom.h"

namespace loomproof::diagram {

/// Whether a contact of the part joins the two: switches in their first position, every coil, input and output dead.
bool closed_at_rest(const Loom&, TerminalIndex, TerminalIndex);

}  // namespace loomproof::diagram
