// Currents that a short circuit can drive: largest through every fuse.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "solve/circuit.h"
#include "solve/fault_paths.h"

namespace loomproof {

/// A supply that does not say what it gives into a short: a charger or converter its limit or its voltage, a battery
/// its resistance.
struct UntoldSupply {
  const Element* supply = nullptr;  // both of the loom
  const Datum* lacks = nullptr;
  std::string_view example;  // how it could be written
};

/// The first in the node's own circuit with which no figure of a fault there can be told: a charger or converter, or
/// one of several batteries, since nothing then says what part of a fault each gives.
std::optional<UntoldSupply> untold_supply(const Circuit&, const FaultPaths&, int node);

/// The first battery there that tells neither resistance nor limit: shorts have a figure, and it is the largest that
/// there may be, of a battery without much resistance.
std::optional<UntoldSupply> untold_battery(const Circuit&, const FaultPaths&, int node);

/// The largest current that any bolted short can drive through a fuse, and the voltage that it must then break.
struct FuseFault {
  double largest_a = 0;                 // every contact closed, full pack, copper as cold as at a start
  double voltage_v = 0;                 // largest voltage that can stand across the open fuse
  std::optional<UntoldSupply> untold;   // see untold_supply()
  std::optional<UntoldSupply> battery;  // see untold_battery()
  std::optional<std::size_t> source;    // the source that drives most of it (index into Elements::sources)
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
