// How a fault shows itself to whoever rides.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "solve/fault_tables.h"

namespace loomproof {

/// By part and position told: whether the fault under way showed there, and how.
class Announcements {
 public:
  explicit Announcements(const Loom&);

  /// Keeps a reference to the state. `now`: of observe() with the fault in it.
  void note(const BaseState&, const std::vector<std::uint8_t>& now);

  /// How it shows where the watch is not concerned; empty: it does not.
  std::string outside(const Watch&) const;

 private:
  struct Sign {
    const BaseState* state = nullptr;
    std::size_t seen = 0;
    std::uint8_t now = 0;
  };

  std::string switches(const Positions&) const;

  const Loom& loom_;
  std::vector<std::vector<Sign>> at_;
};

}  // namespace loomproof
