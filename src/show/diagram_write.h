// The finished sheet as DOT text with every position fixed.
#pragma once

#include <string>

#include "show/diagram.h"
#include "show/diagram_sheet.h"

namespace loomproof::diagram {

std::string write_dot(const DiagramRequest&, const Sheet&);

}  // namespace loomproof::diagram
