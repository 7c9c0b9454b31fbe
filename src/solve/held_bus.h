// A loom whose bus is held at one voltage after the other, to see what flows into its capacitances.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "solve/closing.h"
#include "solve/network.h"

namespace loomproof {

/// The loom with a source in place of the capacitances, and some contacts held open against their will.
class HeldBus {
 public:
  HeldBus(const Circuit&, const Closing&, const Situation&);
  HeldBus(const HeldBus&) = delete;
  HeldBus& operator=(const HeldBus&) = delete;

  const Loom& loom() const { return loom_; }
  const Circuit& circuit() const { return circuit_; }

  /// @param waiting  contacts that do not conduct yet, besides the one that is to be closed
  void set_waiting(const std::vector<std::size_t>& waiting);

  /// @param bus_v   V; the least that a source may have stands for none
  /// @param before  null, or what it is settled from
  OperatingPoint at(double bus_v, const OperatingPoint* before);

  /// Into the capacitances, A.
  double charging_a(const OperatingPoint& point) const { return -point.source_a[source_]; }
  bool closed(const OperatingPoint& point, std::size_t contact) const {
    return point.logic.contact_closed[contact] != 0;
  }

 private:
  Loom loom_;
  Situation situation_;
  std::size_t contact_;
  std::size_t source_ = 0;
  Circuit circuit_;
  std::optional<Network> network_;  // of circuit_, whose resistances and volts it asks for anew every time
  std::vector<double> own_ohm_;
};

}  // namespace loomproof
