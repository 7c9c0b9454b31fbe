// Everything that the rules judge: the loom in all its situations, its heat, its faults' currents, its loops.
#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "model/loom.h"
#include "solve/charging.h"
#include "solve/circuit.h"
#include "solve/circuit_graph.h"
#include "solve/operating_point.h"
#include "solve/prospective.h"
#include "solve/protection.h"
#include "solve/ride_heat.h"

namespace loomproof {

struct FaultWalk;  // solve/fault_walk.h

/// The largest (or smallest) value seen of something, and the point in which it was seen.
struct Extreme {
  double value = 0;
  std::optional<std::size_t> point;  // into Solved::points; none: it was never there

  explicit operator bool() const { return point.has_value(); }
};

/// Extremes over all settled points. Currents are magnitudes in A, voltages in V.
struct Extremes {
  std::vector<Extreme> wire_a;            // by wire
  std::vector<Extreme> fuse_a;            // by fuse
  std::vector<Extreme> contact_a;         // by contact, while closed
  std::vector<Extreme> contact_v;         // by contact, across it while open
  std::vector<Extreme> source_out_a;      // by source
  std::vector<Extreme> source_in_a;       // by source, charging
  std::vector<Extreme> converter_out_a;   // by converter
  std::vector<Extreme> load_low_v;        // by load, lowest while it is meant to work (above half its rated voltage)
  std::vector<Extreme> load_high_v;       // by load, highest ever
  std::vector<Extreme> load_drop;         // by load, largest share of its supply's voltage lost on the way, while on
  std::vector<Extreme> coil_low_v;        // by coil, lowest while on
  std::vector<Extreme> coil_high_v;       // by coil, highest ever
  std::vector<Extreme> converter_low_v;   // by converter, lowest input while on
  std::vector<Extreme> converter_high_v;  // by converter, highest input ever
  std::vector<Extreme> input_high_v;      // by input, highest magnitude against its reference
  std::vector<Extreme> terminal_v;        // by terminal, highest against any other terminal of its own circuit
};

struct Solved {
  const Loom* loom = nullptr;
  Circuit circuit;
  CircuitGraph graph;
  std::vector<Zone> zone;              // by terminal
  std::vector<OperatingPoint> points;  // settled ones; troubled ones stand in `troubled`
  std::vector<OperatingPoint> troubled;
  std::vector<bool> duty_reached;  // by duty point: possible in at least one situation
  std::size_t situations_possible = 0;
  std::size_t situations_covered = 0;
  std::string left_out;    // what was not covered, in words; empty when nothing was
  std::string in_between;  // why situations that were not settled need not be, in words; empty where all were
  std::vector<Charging> chargings;
  Extremes extremes;
  std::vector<Extreme> open_contact_v;  // by contact: see open_contact_voltages() in opened.h
  std::vector<WireHeat> heat;           // by wire
  std::vector<FuseFault> fuse_faults;   // by fuse
  Protection protection;
  std::shared_ptr<const FaultWalk> faults;  // every situation under every single fault

  /// `full pack, key on, climb`: positions that differ from rest, then the duty point.
  std::string describe(const Situation&) const;
  std::string describe(const Extreme& e) const { return e ? describe(points[*e.point].situation) : std::string(); }
};

/// Reads no file and keeps a reference to the loom, which must outlive the result.
/// @param with_faults  false: no single fault is walked and no rule judges any, for a search that only looks for sizes
Solved solve(const Loom&, bool with_faults = true);

}  // namespace loomproof
