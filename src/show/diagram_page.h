// The page around the diagram: legend and title block along its lower edge.
#pragma once

#include <string>
#include <vector>

#include "show/diagram_ink.h"
#include "show/diagram_sheet.h"

namespace loomproof::diagram {

/// The page in drawing units: points of the paper divided by the sheet's scale, y upwards.
struct Page {
  double width = 0, height = 0, margin = 0;
  Point sheet_corner;  // top left of the grid
};
Page page_of(const Sheet&);

/// What the sheet holds, so that the legend explains that and nothing else.
struct Content {
  std::vector<Zone> zones;
  bool earths = false, contacts = false, tags = false, findings = false, path = false;
};

void draw_legend(Ink&, const Page&, const Content&);

/// A text of the title block, for the writer to escape: its left end and the middle of its line.
struct TitleText {
  std::string id, text;
  Point left;
  double size = text_pt;
  bool bold = false;
};

/// The caution along the upper edge, bold, above the drawing; never printed smaller than the other texts may be.
TitleText caution_line(const Sheet&, const Page&, const std::string&);

struct TitleFields {
  std::string vehicle, file, date, file_mark, view, sheet;
};

/// Draws the frame of the title block. @return its texts
std::vector<TitleText> draw_title(Ink&, const Page&, const TitleFields&);

}  // namespace loomproof::diagram
