// On which side of its block a terminal belongs.
#pragma once

#include "show/diagram_context.h"

namespace loomproof::diagram {

/// Energy enters on the left and leaves on the right; what carries none stands with its neighbours.
bool goes_left(const Context&, TerminalIndex);

/// A splice has no sides of its own: each wire goes by its own direction, whatever its terminal is called.
bool enters(const Context&, TerminalIndex, const Use&);

/// All its wires end at the frame.
bool ends_at_frame(const Context&, TerminalIndex);

}  // namespace loomproof::diagram
