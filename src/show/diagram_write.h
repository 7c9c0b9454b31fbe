// The finished sheet as DOT text with every position fixed.
#pragma once

#include <string>

#include "show/diagram.h"
#include "show/diagram_sheet.h"

namespace loomproof::diagram {

struct SheetNumber {
  int sheet = 1, of = 1;
};

std::string write_dot(const DiagramRequest&, const Sheet&, const SheetNumber& = {});

}  // namespace loomproof::diagram
