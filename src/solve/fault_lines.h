// All that may ever conduct in a circuit with one fault in it: its branches, the studs of the frame, what faults
// bridge.
#pragma once

#include <cstddef>
#include <utility>
#include <vector>

#include "solve/circuit.h"
#include "solve/fault.h"
#include "solve/operating_point.h"

namespace loomproof {

/// Solid contact between what must not touch, in ohm (common practice, no source).
inline constexpr double bridge_ohm = 10e-3;

struct FaultLine {
  int a = 0, b = 0;  // nodes
  double ohm = 0;
};

/// Lines are numbered: the circuit's branches, then the joints of the studs, then the bridges.
struct FaultLines {
  std::vector<FaultLine> all;
  std::size_t first_stud = 0, first_bridge = 0;
  std::vector<std::size_t> stud;   // by terminal of a frame that a fault may lift: its joint; else 0
  std::vector<std::size_t> chafe;  // by wire that a fault may lay on the frame: its bridge; else 0
  std::vector<std::pair<std::pair<std::size_t, std::size_t>, std::size_t>> pins;  // two contacts, their bridge
  std::vector<std::size_t> contact, fuse, coil, load, source, converter_in, converter_out;  // by element: its branch

  /// Line of an element that has none: a coil of unknown resistance.
  std::size_t none() const { return all.size(); }
  bool is_branch(std::size_t line) const { return line < first_stud; }
  bool is_bridge(std::size_t line) const { return line >= first_bridge; }
};

/// Gives every stud that a fault may lift a node of its own in `circuit`, after those that it has, and lists the lines.
FaultLines lay_fault_lines(Circuit& circuit, const std::vector<Fault>& faults);

/// Whether a line may drive a current by itself in a state of the logic: a source or converter output that is on, a
/// load that gives.
bool may_push(const Circuit&, const FaultLines&, std::size_t line, const LogicState&);

}  // namespace loomproof
