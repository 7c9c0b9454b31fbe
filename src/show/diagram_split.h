// A loom that is too long for one sheet, divided over several.
#pragma once

#include <vector>

#include "show/diagram_blocks.h"
#include "show/diagram_pick.h"

namespace loomproof::diagram {

/// By part: the sheet that it stands on, from 1; what `picked` says is on none stays on none (0). The main way stands
/// on sheet 1; parts with many wires between them stand together. One sheet where all of it fits at readable print.
/// @param whole   the blocks of everything on a single sheet
/// @param airier  free room asked of a sheet against the usual one
std::vector<int> sheets_of_parts(const Sheet& whole, const std::vector<int>& picked, double airier = 1);

}  // namespace loomproof::diagram
