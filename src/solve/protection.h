// Which device opens before a wire is damaged: every loop that a short can close, with a source in it, needs one.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "solve/circuit.h"
#include "solve/circuit_graph.h"
#include "solve/fault_paths.h"
#include "solve/prospective.h"
#include "solve/protect.h"
#include "solve/ride_heat.h"

namespace loomproof {

/// Length of source lead allowed without a device: 7 in, or 40 in where every wire of it runs in a sheath or enclosure.
/// 33 CFR 183.455(b), ABYC E-11 (tests/reference/drop_limits.csv).
inline constexpr Metre bare_lead_allowed{7 * 0.0254};
inline constexpr Metre sheathed_lead_allowed{40 * 0.0254};

/// What stands between a wire and every source that a short can put across it.
struct WireProtection {
  enum class State {
    no_source,   // no loop with a source passes it
    device,      // every loop has a device that protects it; `fuse` is the one with least to spare
    limited,     // only sources that cannot give more than it carries
    short_lead,  // within the length allowed without a device
    oversize,    // some loop's best device, `fuse`, does not protect it
    none,        // some loop has no device at all
    unknown,     // cannot be judged: `missing` says which datum
  } state = State::no_source;
  std::optional<std::size_t> fuse;
  Coordination coordination{};  // of `fuse`
  Ampere allowed{};             // what the wire carries for ever in its surroundings
  Ampere smallest{};            // bolted short at its far end, empty pack, hot wires; 0: nothing drives one
  Ampere largest{};             // bolted short at its near end, full pack, cold wires
  double seen_share = 1;        // of the fault current that `fuse` sees, where other ways feed the fault too
  Ampere beside{};              // what sources that limit themselves add past `fuse`
  std::vector<PartIndex> beside_by;
  std::string missing;
  std::optional<UntoldSupply> untold;  // with `unknown`: no share of a fault that this may feed can be told
  bool behind = false;  // with `oversize`: the wire may be short of a device itself, a fault behind `fuse` overloads it
  std::optional<WireIndex> touches;  // the conductor whose touch closes the bad loop
};

/// A source pole whose leads run on without any device, while the other pole's do too.
struct BareLead {
  TerminalIndex pole;
  std::vector<WireIndex> wires;  // all wires without a device, nearest to the pole first
  Metre length{};                // to the farthest point without a device
  Metre allowed{};
  // The other side of the loop, which a device would protect as well: its pole, and the wire beyond the length allowed
  // that is nearest to it.
  TerminalIndex other_pole;
  WireIndex other_wire;
};

struct Protection {
  std::vector<WireProtection> wires;
  std::vector<BareLead> bare_leads;
};

/// A fault is fed by everything that can feed it at once: each device is judged by what it sees of the wire's current
/// (fault_paths.h), and sources that limit themselves add up.
Protection protection_of(const Circuit&, const CircuitGraph&, const FaultPaths&, const std::vector<FuseFault>&,
                         const std::vector<WireHeat>&);

}  // namespace loomproof
