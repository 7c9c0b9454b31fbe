// What one sheet shows: which wires, and on which sheet each part stands.
#pragma once

#include <vector>

#include "model/loom.h"

namespace loomproof::diagram {

struct Pick {
  std::vector<bool> wires;    // by wire: drawn on this sheet
  std::vector<int> sheet_of;  // by part: number of the sheet that it stands on, from 1; 0 on none
  int sheet = 1;
  bool main_way = true;  // the way from pack to controller is among the wires
  bool whole = true;     // the whole loom is drawn, on this sheet and its sisters: unused terminals are shown too
};

}  // namespace loomproof::diagram
