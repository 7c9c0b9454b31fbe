// The legend along the lower edge, and the margins of the page.
#pragma once

#include "show/diagram_ink.h"
#include "show/diagram_sheet.h"

namespace loomproof::diagram {

struct Margins {  // points
  double side = 8, bottom = 0, width = 0, height = 0;
};
Margins margins_of(const Sheet&);

void draw_legend(Ink&, const Sheet&, const Margins&);

}  // namespace loomproof::diagram
