// The walk: every reachable switch state, full and empty pack, charger in and out, and in each every single fault.
#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "solve/fault_watch.h"

namespace loomproof {

/// Bound on the switch states that are walked for one fault; above it the walk is split by cones of influence, and what
/// even so remains too much is walked near rest only, and said to be.
inline constexpr std::size_t most_walked_states = 32768;

/// Of a state that remembers: the switches as they stood from rest on, then after every single move.
using History = std::vector<std::vector<std::int8_t>>;

/// A situation in which a watch was violated.
struct Sighting {
  std::optional<std::size_t> fault;  // none: without any
  Situation situation;               // positions as told
  LogicState before;                 // state of the logic in which the fault struck; empty: it was there from rest
  std::size_t moved = 0;             // switches away from rest
  History history;                   // up to the state in which the fault struck; empty: rest leads there at once
  double value = 0;
  // How the fault shows outside the situations that the watch is about; empty: it is silent.
  std::string announced;
  bool of_the_switch = false;  // the fault lies in the very switch that the watch is about

  bool from_rest() const { return before.contact_closed.empty(); }
};

struct WatchResult {
  Watch watch;
  std::optional<Sighting> without_fault;
  std::vector<Sighting> by_fault;  // one a fault, in the order of the faults
  std::size_t unsettled = 0;       // points that match it and did not settle
  std::string left_out;            // in words; empty when every state was walked or ruled out
};

struct FaultWalk {
  std::vector<Fault> faults;
  std::vector<WatchResult> watches;
  std::size_t states = 0;              // reachable switch states x charges, without a fault
  std::size_t points = 0;              // settled, all faults together
  std::size_t cut = 0;                 // pairs of fault and watched cone that cannot meet and so were not settled
  std::size_t walked = 0;              // and those that were
  std::size_t bounded = 0;             // pairs of fault and watch that no state can violate (FaultBounds)
  std::string left_out;                // of any watch, the most; empty when exhaustive
  std::vector<std::size_t> remembers;  // coils found on and off in one situation, by the way there; no fault
  /// What never comes on from rest but stays on once it is: 12 V that only the contactor that needs it lets through.
  struct Deadlock {
    Target target;
    Situation situation;
  };
  std::vector<Deadlock> deadlocks;
  std::vector<char> output_on, coil_on;  // by output and coil: on in some situation without a fault
};

/// Ways to settle less, none of which changes what is found; each can be left out, for the tests that show it.
struct WalkShortcuts {
  bool cones = true;    // else every switch and every fault
  bool classes = true;  // one fault answers for all that leave the same circuit
  bool bounds = true;   // what no state can violate is not settled
  bool meeting = true;  // what strikes in a state to which the way from rest leads is settled once
  bool hints = true;    // settling starts from what is known of the state without the fault
  bool memory = true;   // what starts as something before it did is not settled again
};

/// @param threads  0: as many as this process may use; the result is the same for any number
FaultWalk walk_faults(const Circuit&, unsigned threads = 0, const WalkShortcuts& = {});

/// The point of a sighting, settled again in a network of its own.
class Retold {
 public:
  Retold(const Circuit&, const FaultWalk&, const Sighting&);
  const OperatingPoint& with_fault() const { return with_; }
  const OperatingPoint& without_fault() const { return without_; }
  const Circuit& circuit() const { return network_->circuit(); }
  /// Current through a branch of circuit() with the fault in, a to b.
  double current_a(std::size_t branch) const { return amps_[branch]; }
  const std::vector<std::size_t>& blown() const { return blown_; }

 private:
  std::unique_ptr<FaultNetwork> network_;
  OperatingPoint with_, without_;
  std::vector<double> amps_;
  std::vector<std::size_t> blown_;
};

}  // namespace loomproof
