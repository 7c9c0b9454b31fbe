// What the blocks of one sheet are made from: the loom, the way of its energy, and who is wired to whom on the sheet.
#pragma once

#include <vector>

#include "model/loom.h"
#include "show/diagram_flow.h"
#include "show/diagram_pick.h"
#include "show/diagram_sheet.h"

namespace loomproof::diagram {

struct Markers {  // how many findings concern each thing; short is allowed
  std::vector<int> wires, parts;
  bool wide = false;  // numbers of three digits
};

struct Use {  // one wire at a terminal
  WireIndex wire;
  TerminalIndex other;
};

struct Context {
  const Loom& loom;
  const Flow& flow;
  std::vector<std::vector<Use>> uses;  // by terminal: wires of this sheet
  std::vector<bool> wired;             // by terminal: a wire on any sheet
  std::vector<int> lead_side;          // by terminal: +1 gives, -1 takes, 0 no motor lead
  const Markers& marked;               // findings
  const Pick& pick;

  int markers(WireIndex w) const { return w.value < marked.wires.size() ? marked.wires[w.value] : 0; }

  int sheet_of(TerminalIndex t) const { return pick.sheet_of[loom.terminal(t).part.value]; }
  bool is_frame(TerminalIndex t) const { return loom.kind_of(loom.part(loom.terminal(t).part)).is_frame; }
};

/// Lines this wide need two rows, or the text of one stands in the next.
inline bool is_heavy(const Wire& wire) {
  return wire.size && wire.size->value.value > 3;
}

/// `T1 35 RD`: number, size (square millimetres bare, anything else as written), colour code.
std::string wire_text(const Wire&);

}  // namespace loomproof::diagram
