// All that may ever conduct in a circuit with one fault in it: its branches, the studs of the frame, what faults
// bridge.
#pragma once

#include <cstddef>
#include <optional>
#include <utility>
#include <vector>

#include "solve/circuit.h"
#include "solve/fault.h"
#include "solve/logic.h"
#include "solve/operating_point.h"

namespace loomproof {

/// Solid contact between what must not touch, in ohm (common practice, no source).
inline constexpr double bridge_ohm = 10e-3;

/// A fuse that carries this many times its rated current opens before anything else is judged: within 5 s at the latest
/// for road-vehicle blades (ISO 8820-3 gate at 200 %).
inline constexpr double fuse_opens_at = 2.0;

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

/// What a fault does to the lines and to the logic.
struct LaidFault {
  std::vector<std::size_t> opened;  // lines
  std::size_t bridge = 0;           // the line that it lays; 0: none
  LogicFault logic;
  std::optional<std::pair<PartIndex, int>> stuck;  // a switch, in a position
};

/// @param circuit, faults  as of lay_fault_lines(), the fault among them
LaidFault laid_by(const Fault&, const Circuit& circuit, const FaultLines&);

/// By line: whether it is there with the fault in, all contacts closed but those that it holds open.
std::vector<char> lines_there(const FaultLines&, const LaidFault&);

/// Whether a load joins its two ends even where there is no voltage: starved, it is a resistance.
bool draws_current(const Load&);

/// Whether a line joins its two ends in a state of the logic.
bool conducts(const Circuit&, const FaultLines&, std::size_t line, const LogicState&);

/// Whether a line may drive a current by itself in a state of the logic: a source or converter output that is on, a
/// load that gives.
bool may_push(const Circuit&, const FaultLines&, std::size_t line, const LogicState&);

}  // namespace loomproof
