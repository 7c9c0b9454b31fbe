// Coils, inputs, conditions and contacts: what the voltages decide.
#pragma once

#include <cstddef>
#include <string>
#include <utility>
#include <vector>

#include "solve/operating_point.h"

namespace loomproof {

/// What a fault does to the logic; empty lists = healthy.
struct LogicFault {
  std::vector<std::size_t> contacts_open, contacts_closed;  // stuck or welded
  std::vector<std::size_t> dead_coils, dead_sources, dead_converters;
};

/// The loom's logic, compiled once: which contacts, outputs, sources and converters hang on voltages, and which on the
/// switches alone.
class Logic {
 public:
  explicit Logic(const Circuit&);

  /// The state of a vehicle at rest: no coil on, contacts as their conditions then say.
  void rest(const OperatingPoint& of_situation, LogicState& out) const;

  /// What the logic becomes when it sees the voltages of `point` (whose own `logic` is the state before: coils and
  /// inputs hold between their two thresholds). `out` must be another object than the point's.
  /// @param moved  whether the situation is another one than that which the state before answers to
  void next(const OperatingPoint& point, LogicState& out, bool moved) const;

  /// Inputs whose voltage in `point` lies between their two thresholds: either reading is possible.
  std::vector<std::size_t> undefined_inputs(const OperatingPoint& point) const;

  void set_fault(LogicFault fault) { fault_ = std::move(fault); }
  /// Contacts, sources and converters as the fault holds them.
  void force(LogicState& out) const;

 private:
  void conditions(const OperatingPoint& point, bool dead, LogicState& out, bool all) const;

  struct Plain {};
  Logic(const Circuit& circuit, Plain) : circuit_(circuit) {}
  friend LogicState resting_logic(const Loom&, const Situation&);
  friend LogicState next_logic(const Circuit&, const OperatingPoint&);

  const Circuit& circuit_;
  std::vector<std::size_t> live_contacts_, live_outputs_, live_sources_;  // hang on a voltage
  LogicFault fault_;
};

/// The same for a single look, without anything compiled: the state of a vehicle at rest, ...
LogicState resting_logic(const Loom&, const Situation&);
/// ... and what the logic becomes when it sees the voltages of `point`.
LogicState next_logic(const Circuit&, const OperatingPoint& point);

/// Names of what differs between two states, `main.coil, drive.torque`; for the account of a chatter.
std::string changes_between(const Loom&, const LogicState&, const LogicState&);

}  // namespace loomproof
