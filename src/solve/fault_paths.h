// What a short circuit drives through every wire, and how much of it the fuses on the way see when several sources feed
// it together.
#pragma once

#include <cstddef>
#include <vector>

#include "solve/circuit.h"
#include "solve/circuit_graph.h"

namespace loomproof {

/// Prospective currents of one wire; 0 where no source of its own circuit can drive a fault through it.
struct WireFault {
  /// Bolted short at the end that it feeds, straight to a pole: full pack, copper as cold as at a start, every source
  /// gives.
  double largest_a = 0;
  /// The same by way of the farthest return: empty pack, copper at the limit of its insulation, and only the sources
  /// that do not limit themselves (where there are any).
  double smallest_a = 0;
};

/// How a fuse sees a fault current I of a wire: share * (I - relief_a). Only fuses in a loop of sources differ from I:
/// the others carry the whole of what they feed.
struct FuseSight {
  std::size_t fuse = 0;
  double share = 1;
  double relief_a = 0;            // what limited sources give straight to the wire, past the fuse
  std::vector<PartIndex> beside;  // those sources
};

struct FaultPaths {
  std::vector<WireFault> wires;
  std::vector<std::vector<FuseSight>> sights;  // by wire; fuses that see its whole current are left out
  /// By node: number of its circuit when the ties inside parts that are not isolated are cut. Two circuits that only
  /// such a tie joins touch one another in a shared bundle or by way of the frame, not anywhere.
  std::vector<int> own_circuit;
  /// By wire: a conductor of another circuit that touches the frame drives current through it.
  std::vector<char> in_frame_faults;
  std::vector<char> fuse_in_frame_faults;  // by fuse, the same
};

FaultPaths fault_paths(const Circuit&, const CircuitGraph&);

/// A resistance inside a part that says `isolated: false`.
bool is_tie(const Loom&, const Branch&);

}  // namespace loomproof
