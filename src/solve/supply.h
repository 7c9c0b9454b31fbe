// The supplies of a loom as their two outer poles, a tapped pack being one.
#pragma once

#include <vector>

#include "solve/circuit.h"

namespace loomproof {

struct SupplyPoles {
  PartIndex part;
  int pos = 0;  // nodes
  int neg = 0;
  double full_v = 0;
};

/// Packs, batteries, chargers and sensor supplies (all sections of a part joined), then converter outputs.
std::vector<SupplyPoles> supply_poles(const Circuit&);

/// Largest full-charge voltage of any supply of the traction zone; 0 when there is none.
double traction_full_v(const Circuit&);

/// What no signal and no phase may be tied to: poles of every supply, of the bus of every controller, which is charged
/// even where its contactor is open, and every frame.
std::vector<TerminalIndex> poles_of(const Loom&);

}  // namespace loomproof
