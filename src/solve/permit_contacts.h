// What stops when a contact of a battery management opens: found by opening it in every situation that runs.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>

#include "solve/conductor_pieces.h"
#include "solve/network.h"
#include "solve/solved.h"

namespace loomproof {

enum class Runs : std::uint8_t { drive, charger };

/// Of all settled situations in which the drive has torque and power, or the charger charges a pack.
struct OpenedPermit {
  bool ran = false;                      // there is one
  std::optional<std::size_t> still;      // into Solved::points: runs on with the contact open
  std::optional<std::size_t> unsettled;  // nothing can be said with the contact open

  bool stops() const { return ran && !still && !unsettled; }
};

class PermitContacts {
 public:
  /// Keeps a reference to what was solved.
  explicit PermitContacts(const Solved&);

  /// @param contact  opened while the vehicle runs, and before it is switched on
  OpenedPermit open(std::size_t contact, Runs);

  /// Terminals, one of each contact, whose wires must change places for the drive or the charger to run at all; nothing
  /// where that does not help.
  std::optional<std::array<TerminalIndex, 2>> crossed(std::size_t contact, std::size_t other, Runs);

 private:
  bool runs(const OperatingPoint&, Runs, int island);
  int island_watched(std::size_t contact) const;

  const Solved& solved_;
  ConductorPieces conductors_;
  Network network_;
};

}  // namespace loomproof
