// The wiring diagram: a loom laid out on one landscape sheet and written as DOT text for Graphviz to render.
#pragma once

#include <string>
#include <vector>

#include "model/element.h"
#include "model/loom.h"
#include "rules/ledger.h"
#include "show/caution.h"

namespace loomproof {

enum class DiagramPaper { a4, a3 };  // landscape, ISO 216

struct DiagramRequest {
  const Loom& loom;
  const Judgement* judgement = nullptr;  // its findings become markers, numbered from 1 as in the text; may be null
  std::vector<Zone> zones;               // by terminal index; shorter or empty: what is not said counts as Zone::none
  std::vector<bool> wires = {};          // by wire: what the view shows; empty: all
  std::string view_name = "all wires";   // in the title block
  std::vector<WireIndex> path = {};      // a band marks these: the current of one finding
  std::string date = {};                 // in the title block, as the user gives it
  std::string file_mark = {};            // of the file's bytes, see file_mark()
  DiagramPaper paper = DiagramPaper::a4;
  std::string caution = sheet_caution();  // along the upper edge of every sheet
};

/// The whole diagram as DOT with every position fixed (`layout=nop2`), so that plain `dot -Tsvg` renders it as laid
/// out here. Each wire is exactly one edge, from the node `part.terminal` to the node `part.terminal` (a wire to the
/// frame ends in an earth mark of its own, `wire@frame.stud`). Same request, same bytes. Lengths inside are points,
/// 1/72 inch; the sheet has the shape of A4 landscape unless a single path is longer.
std::string dot_text(const DiagramRequest&);

/// The same, on as many sheets as keep the print readable (6 pt at the least). A wire between two sheets is drawn on
/// both, each time to a tag with the number of the other sheet and the terminal there.
std::vector<std::string> dot_sheets(const DiagramRequest&);

}  // namespace loomproof
