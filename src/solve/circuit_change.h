// A small change of the circuit, as a single fault makes it.
#pragma once

#include <cstddef>
#include <vector>

#include "solve/logic.h"

namespace loomproof {

/// Empty = healthy. Branches are counted as in Circuit::branches, nodes as in Circuit::node_of.
struct CircuitChange {
  struct Bridge {
    int a = 0;
    int b = 0;
    double ohm = 1e-3;
  };
  /// Conduct nothing: a wire cut, a fuse blown, a coil or lamp burnt out, a pin that does not mate. Not for sources,
  /// converters and diodes. A coil among them does not pull in either. wire_current() and branch_current_a() do not
  /// know of it: the current in an opened branch is none, whatever they say.
  std::vector<std::size_t> open;
  /// Conductors that should not be: a chafe to the frame, neighbouring pins.
  std::vector<Bridge> bridges;
  LogicFault logic;
};

}  // namespace loomproof
