// From parts and wires to the blocks and runs of one sheet.
#pragma once

#include "show/diagram_context.h"

namespace loomproof::diagram {

/// Blocks and unrouted runs of one sheet of the loom, not yet placed; sheet size still 0. The frame has no block: every
/// wire to it is an earth port of the block at its other end.
/// @param zones    by terminal; short is allowed
/// @param markers  how many findings concern each thing; short is allowed
Sheet make_blocks(const Loom&, const Flow&, const std::vector<Zone>& zones, const Markers& markers, const Pick&);

}  // namespace loomproof::diagram
