// One fault through all the states that it can meet.
#pragma once

#include <compare>
#include <cstddef>
#include <memory>
#include <utility>
#include <vector>

#include "solve/fault_tables.h"

namespace loomproof {

struct WatchGroup {
  std::vector<std::size_t> watches;
  std::vector<Target> targets;
  Parts parts;
  std::size_t table = 0;
};

// What is to be walked of one fault for one group.
struct Errand {
  std::size_t group = 0;
  std::size_t table = 0;
  friend auto operator<=>(const Errand&, const Errand&) = default;
};

// A watch that a fault may violate.
struct Suspect {
  std::size_t watch = 0;
  Parts decide;  // switches that have a say in it with the fault in; all others stay at rest
  std::vector<std::pair<PartIndex, int>> never;  // positions at which it is not violated, wherever the others stand
};

/// Whether a state with its switches so may tell something of a suspect that no other state tells: a state with a
/// switch moved that has no say tells what the same one tells with that switch at rest; one with a switch at a position
/// at which the watch is never violated tells nothing of it.
bool tells_of(const Suspect&, const Positions&);

struct Found {
  std::size_t watch = 0;
  Sighting sighting;
};

struct Outcome {
  std::vector<Found> found;
  std::vector<std::size_t> unsettled;  // by watch
  std::size_t points = 0;
};

/// Walks one fault after another; whichever it walked before makes no difference.
class Walker {
 public:
  /// Keeps references to all of them.
  /// @param sound  knows what it settled without a fault; settles nothing meanwhile
  Walker(const Circuit&, const FaultNetwork& sound, const FaultWalk&, const std::vector<WatchGroup>&,
         const std::vector<Table>&, const WalkShortcuts&);
  ~Walker();

  /// @param suspects  watches that its states may violate, ascending by watch: only states that concern one of these
  ///                  are settled, and of what was violated those that tell how the fault shows; states of a wider
  ///                  table of which none of these tells need not be settled yet
  Outcome walk(std::size_t fault, const std::vector<Errand>&, const std::vector<Suspect>& suspects);
  /// The same outcome as another fault's, which leaves the same circuit behind.
  Outcome retold(Outcome, std::size_t fault) const;

 private:
  class Inside;
  std::unique_ptr<Inside> inside_;
};

}  // namespace loomproof
