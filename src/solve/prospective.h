// Currents that a short circuit can drive: largest through every fuse.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "solve/circuit.h"
#include "solve/fault_paths.h"

namespace loomproof {

/// A charger or converter that does not say how much it gives at the most, or at which voltage: no short that it may
/// feed has a figure. Batteries are no such source: their resistance tells it (`source_known`).
struct UntoldSupply {
  const Element* supply = nullptr;  // both of the loom
  const Datum* lacks = nullptr;
  std::string_view example;  // how it could be written
};

/// The first one in the node's own circuit.
std::optional<UntoldSupply> untold_supply(const Circuit&, const FaultPaths&, int node);

/// The largest current that any bolted short can drive through a fuse, and the voltage that it must then break.
struct FuseFault {
  double largest_a = 0;               // every contact closed, full pack, copper at 20 degC
  double voltage_v = 0;               // largest voltage that can stand across the open fuse
  bool source_known = true;           // false: the resistance of a source behind it is not given
  std::optional<UntoldSupply> untold;  // what its shorts depend on
  std::optional<std::size_t> source;  // the source that drives most of it (index into Elements::sources)
};

/// Linear network of the sources alone: loads, coils and inputs removed, every contact closed (of a changeover both,
/// the demanding choice), every source on at full charge, current-limited sources as their limit. Largest over shorts
/// between each end of the fuse and each pole of each source of its own circuit, and between two such poles (a fuse
/// between packs in series must break them all); where a circuit hangs on another by the inside of a part that is not
/// isolated only, also with the other's poles on the frame, if that drives a current through the fuse. Controllers that
/// regenerate count as sources of their limit.
std::vector<FuseFault> fuse_faults(const Circuit&, const FaultPaths&);

/// The bolted short between two terminals in that network: V_open / R_thevenin; 0 when no source drives it.
double short_circuit_a(const Circuit&, TerminalIndex, TerminalIndex);

}  // namespace loomproof
