// From parts to blocks: which symbol, which side each terminal is on, and how large the block is.
#pragma once

#include "model/loom.h"
#include "show/diagram_flow.h"
#include "show/diagram_pick.h"
#include "show/diagram_sheet.h"

namespace loomproof::diagram {

struct Markers {
  std::vector<int> wires, parts;
};

/// Blocks and unrouted runs of one sheet of the loom, not yet placed; sheet size still 0. The frame has no block: every
/// wire to it is an earth port of the block at its other end.
/// @param zones    by terminal; short is allowed
/// @param markers  how many findings concern each thing; short is allowed
Sheet make_blocks(const Loom&, const Flow&, const std::vector<Zone>& zones, const Markers& markers, const Pick&);

/// `T1 35 RD`: number, size (square millimetres bare, anything else as written), colour code.
std::string wire_text(const Wire&);

}  // namespace loomproof::diagram
