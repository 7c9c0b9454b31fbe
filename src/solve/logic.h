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
  /// @param moved  whether the state before need not be what its own coils and inputs, and the switches, make of it
  void next(const OperatingPoint& point, LogicState& out, bool moved) const;

  /// Contacts, outputs, sources and converters as they follow the coils and inputs of `out` and the voltages of
  /// `point`.
  void follow(const OperatingPoint& point, LogicState& out) const { conditions(point, false, out, Which::all); }

  /// Inputs whose voltage in `point` lies between their two thresholds: either reading is possible.
  std::vector<std::size_t> undefined_inputs(const OperatingPoint& point) const;

  void set_fault(LogicFault fault) { fault_ = std::move(fault); }
  /// Contacts, sources and converters as the fault holds them.
  void force(LogicState& out) const;

 private:
  /// A condition as a row of steps: its own, and behind it all those of the conditions inside.
  struct Step {
    Condition::Op op = Condition::Op::always;
    std::size_t end = 0;    // the step behind all of its own
    std::size_t index = 0;  // of an input, output or coil; of the part for its position
    const std::vector<int>* positions = nullptr;
    int pos = 0, neg = 0;  // nodes
    double above_v = 0;
  };
  struct Compiled {
    std::vector<std::size_t> first;      // step, by element
    std::vector<std::size_t> seeing;     // elements that look at a voltage themselves
    std::vector<std::size_t> following;  // those that follow coils, inputs and outputs
  };
  enum class Which : std::uint8_t { all, live, seeing };
  template <class List, class Member>
  void compile(const List& list, Member condition, Compiled& out);
  void compile(const Condition&, PartIndex);
  bool holds(std::size_t step, const OperatingPoint&, bool dead, const LogicState&) const;
  void conditions(const OperatingPoint& point, bool dead, LogicState& out, Which which) const;
  void evaluate(const Compiled&, Which, const OperatingPoint&, bool dead, const LogicState&,
                std::vector<std::uint8_t>& into) const;

  const Circuit& circuit_;
  std::vector<Step> steps_;
  Compiled contacts_, outputs_, sources_, converters_;
  LogicFault fault_;
};

/// Lowest voltage at which a coil can be on: it pulls in at one and drops out below another.
double least_coil_v(const Coil&);
/// Voltage from which a condition `powered` holds.
double powered_above_v(const Condition&);
/// A converter whose input sees no more is off, whatever its window (common practice, no source).
inline constexpr double least_converter_v = 0.5;
/// Voltage up to which an input reads as if it saw none.
double silent_up_to_v(const Input&);
/// Whether an input that sees at most so many volts, of either sign, may read as asserted, and whether as not.
std::pair<bool, bool> may_read(const Input&, double most_v);

/// The same for a single look, without anything compiled: the state of a vehicle at rest, ...
LogicState resting_logic(const Loom&, const Situation&);
/// ... and what the logic becomes when it sees the voltages of `point`.
LogicState next_logic(const Circuit&, const OperatingPoint& point);

/// Names of what differs between two states, `main.coil, drive.torque`; for the account of a chatter.
std::string changes_between(const Loom&, const LogicState&, const LogicState&);

}  // namespace loomproof
