// Switches that only put consumers on a supply or take them off.
#pragma once

#include <cstddef>
#include <vector>

#include "solve/circuit.h"

namespace loomproof {

/// The switches of a loom, parted into what decides and what only loads the supply.
struct Accessories {
  /// Parts. What one group feeds has no way to what another feeds, nor to anything that decides, but through the poles
  /// of a supply: groups meet in the currents and the voltage of the wires that they share, and nowhere else.
  std::vector<std::vector<std::size_t>> groups;
  std::vector<std::size_t> deciding;  // all other switches, parts
  std::vector<char> relays;           // by part: a relay that goes with a group
};

/// With all contacts that move taken out, the circuit falls into pieces. Accessories tie pieces that reach consumers
/// alone to one another and to one other piece, their supply; the far ends of these consumers lie firmly at a pole. A
/// relay whose coil such a switch feeds, and which itself does no more than that, goes with it.
Accessories accessories_of(const Circuit&);

}  // namespace loomproof
