// The loom as an electrical circuit: terminals merged into nodes, everything between them as branches, split into
// islands that share no conductor.
#pragma once

#include <cstddef>
#include <vector>

#include "model/loom.h"

namespace loomproof {

/// What a branch stands for; `index` of a branch counts in the matching table of Loom or Elements.
enum class BranchType {
  wire,
  resistance,
  divider_upper,
  divider_lower,
  fuse,
  contact,
  coil,
  load,
  pull,  // of an input
  source,
  converter_in,
  converter_out,
  diode,
};

struct Branch {
  BranchType type = BranchType::wire;
  std::size_t index = 0;
  int a = 0;  // node; current is counted from a to b (a source's from b to a outside: a = pos, b = neg)
  int b = 0;
  int island = 0;
  double ohm = 0;  // series resistance when it conducts; always > 0
};

/// Injection of a lead pair: a duty channel's current enters at `from` and leaves at `to` (motor phases). A lead that
/// contacts may join to one motor or another has one pair for each, one after the other: see takes_current().
struct LeadPair {
  PartIndex part;  // that gives the channel
  std::size_t lead = 0;
  int from = 0;
  int to = 0;
};

/// How a diode stands between the poles of the supplies to which conductors lead from it, whatever is closed.
enum class DiodeStand : std::uint8_t {
  apart,     // neither of these: it may conduct
  backward,  // the cathode at the positive pole: free-wheeling; no supply drives a current through it
  forward,   // the anode there: a short of the supply as soon as all on the way is closed
};

struct Circuit {
  const Loom* loom = nullptr;
  int nodes = 0;
  std::vector<int> node_of;      // by terminal
  std::vector<int> island_of;    // by node
  std::vector<int> local_of;     // by node: its number inside its island
  std::vector<int> ground_rank;  // by node: the lowest of a connected piece is its 0 V
  std::vector<Branch> branches;
  std::vector<std::vector<std::size_t>> island_branches;
  std::vector<std::vector<int>> island_nodes;
  std::vector<std::size_t> wire_branch;  // by wire
  std::vector<LeadPair> lead_pairs;
  int frame_node = -1;
  std::vector<DiodeStand> diode_stands;  // by diode

  int node(TerminalIndex t) const { return node_of[t.value]; }
};

/// Copper temperature at which the network takes a wire's resistance: 30 K above the air beside it, not above the
/// limit of its insulation (70 degC at 40 degC air, where IEC 60364-5-52 annex G also takes its drop figures from).
Celsius network_copper_temperature(const Loom&, const Wire&);

/// Air about the vehicle; 40 degC where the loom does not say.
Celsius ambient_of(const Loom&);

/// Copper and fuses of a vehicle that has stood: the coldest start where the loom tells it, 20 degC otherwise and at
/// most, since every bench is that cold once.
Celsius cold_start(const Loom&);

/// Hottest air that the wire meets: of its bundles, else of the vehicle, else 40 degC.
Celsius air_beside(const Loom&, const Wire&);

/// Resistance of a wire at a copper temperature; nullopt when size or length is not given.
std::optional<Ohm> wire_resistance(const Wire&, Celsius copper);

/// A wire whose size or length is unknown counts as 1 mohm in the network; its own verdicts are undecided.
Circuit build_circuit(const Loom&);

}  // namespace loomproof
