// The shape of one block: which symbol, which side and row each terminal has, how large it is.
#pragma once

#include <optional>

#include "show/diagram_context.h"

namespace loomproof::diagram {

inline constexpr std::size_t longest_name = 24;  // characters of a part's name that are shown

Figure figure_of(const Kind&);

/// A symbol with its poles in one line, or in two: no box.
bool is_inline(Figure);

/// Second line of text: the kind, and for plain symbols the one value that names them.
std::string what_of(const Loom&, const Part&, Figure);

/// Sets the block's ports and size.
/// @param gap    rows between `first` and `second`, for the parts that stand between
/// @param first  poles on the main side of a pack or a controller; none for all other parts
void lay(const Context&, Block&, int gap = 0, std::optional<TerminalIndex> first = {},
         std::optional<TerminalIndex> second = {});

}  // namespace loomproof::diagram
