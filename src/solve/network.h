// Voltages and currents of the whole loom in one situation: relays, logic and the nonlinear network settled together.
#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <vector>

#include "solve/branch_laws.h"
#include "solve/circuit.h"
#include "solve/circuit_change.h"
#include "solve/operating_point.h"

namespace loomproof {

/// How one situation settled, step by step of its logic; empty = nothing yet.
struct SettlingStep {
  LogicState logic;
  BranchLaws::State laws;
};
using SettlingTrail = std::vector<SettlingStep>;

/// Whether two states agree in all but the contacts.
bool remembers_same(const LogicState&, const LogicState&);

/// Nodal analysis, G v = i, one LDL^T an island; G is symmetric and, with one unit conductance at the 0 V node of each
/// connected piece (which carries no current), positive definite.
///
/// Coils, inputs and conditions are read from the voltages, contacts set by them, and all is repeated until nothing
/// moves; a state that comes back is chatter and is said so in `trouble`. The laws of the branches: branch_laws.h.
/// Kirchhoff's current law is checked at every node of every result. What a settling leaves behind only saves time:
/// no result depends on what was settled before.
class Network {
 public:
  /// @param opens_contacts  whether alter() will hold contacts open, one after another: that then costs less
  explicit Network(const Circuit&, bool opens_contacts = false);
  ~Network();
  Network(Network&&) noexcept;
  Network& operator=(Network&&) noexcept;

  /// Settles the situation from rest (every coil off), first with no duty current, then with that of its duty point.
  OperatingPoint settle(const Situation&);

  /// The same without duty.
  /// @param follow  null, or how a situation settled that differs in switches which decide nothing (see deciding_parts)
  ///                or in the charge: where the logic takes the same steps, each starts from what that one settled to.
  ///                The steps are its own all the same.
  /// @param write   null, or where the steps taken are written to, in place of what is there
  OperatingPoint settle_base(const Situation&, const SettlingTrail* follow, SettlingTrail* write);

  /// The same, unless the logic comes upon a state of `known`, other steps of this situation: then its end is known too
  /// and nullopt is returned.
  std::optional<OperatingPoint> settle_rest_after(const Situation&, const SettlingTrail& known,
                                                  const SettlingTrail* follow, SettlingTrail* write);

  /// Settles from the state that `before` left, for moves of a switch in a circuit that remembers. No duty current.
  /// @param follow, write  as of settle_base()
  OperatingPoint settle_from(const OperatingPoint& before, const Situation&, const SettlingTrail* follow = nullptr,
                             SettlingTrail* write = nullptr);

  /// The same, but with coils as they are given, however that came about.
  OperatingPoint settle_with(const std::vector<std::uint8_t>& coil_on, const OperatingPoint& before, const Situation&);

  /// The same, unless the logic comes upon a state of `known`, the steps of this situation from rest or from another
  /// state: then its end is known too and nullopt is returned.
  std::optional<OperatingPoint> settle_after(const OperatingPoint& before, const Situation&,
                                             const SettlingTrail& known);

  /// Puts a duty point on the point that the last call settled without one; nullopt when it is not possible there: its
  /// part is dead, gives no torque, or is fed through a resistor only. May be repeated with other duty points.
  std::optional<OperatingPoint> add_duty(const OperatingPoint& base, DutyIndex);

  /// Inputs whose voltage in `point` lies between their two thresholds: either reading is possible.
  std::vector<std::size_t> undefined_inputs(const OperatingPoint& point) const;

  /// From now on the circuit is that of the constructor with this change, in place of any change before. Opening a
  /// branch costs little; a bridge lays the islands anew.
  void alter(const CircuitChange&);

 private:
  struct Inside;
  std::unique_ptr<Inside> inside_;
};

}  // namespace loomproof
