// Voltages and currents of the whole loom in one situation: relays, logic and the nonlinear network settled together.
#pragma once

#include <memory>
#include <vector>

#include "solve/circuit.h"
#include "solve/operating_point.h"

namespace loomproof {

/// Nodal analysis, G v = i, one sparse LDL^T an island; G is symmetric and, with one unit conductance at the 0 V node
/// of each connected piece (which carries no current), positive definite.
///
/// Diodes: piecewise linear, v = Vf + r i when they conduct. Current limits: voltage source until the limit, current
/// source beyond. Constant-power and constant-current loads: currents iterated to 1e-9 of themselves, below their
/// lowest working voltage a resistance. Coils, inputs and conditions are read from the voltages, contacts set by them,
/// and all is repeated until nothing moves; a state that comes back is chatter and is said so in `trouble`.
/// Kirchhoff's current law is checked at every node of every result.
class Network {
 public:
  explicit Network(const Circuit&);
  ~Network();
  Network(Network&&) noexcept;
  Network& operator=(Network&&) noexcept;

  /// Settles the situation from rest (every coil off), first with no duty current, then with that of its duty point.
  OperatingPoint settle(const Situation&);

  /// The situation without duty, then with each of the duty points that is possible in it, each from the first.
  /// @param like  a settled situation without duty that differs only in switches that decide nothing (see
  ///              deciding_parts): the logic starts as it is there, and from rest should it move
  std::vector<OperatingPoint> settle_with(const Situation& without_duty, const std::vector<DutyIndex>& duties,
                                          const OperatingPoint* like = nullptr);

  /// Settles from the state that `before` left, for moves of a switch in a circuit that remembers.
  OperatingPoint settle_from(const OperatingPoint& before, const Situation&);

 private:
  struct Inside;
  std::unique_ptr<Inside> inside_;
};

}  // namespace loomproof
