// How a fault shows itself to whoever rides.
#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "solve/fault_tables.h"

namespace loomproof {

/// By part and position told: whether the fault under way showed there, and how.
class Announcements {
 public:
  explicit Announcements(const Loom&);

  /// What a state shows where seek() looks; keeps a reference to it. `now`: of observe() with the fault in it.
  void note(const BaseState&, const std::vector<std::uint8_t>& now);

  /// From now on every state that is noted has this switch in this position.
  void seek(PartIndex part, std::size_t position) { sought_ = {part, position}; }
  /// Whether it showed with a switch in a position, ...
  bool shows(PartIndex part, std::size_t position) const { return at_[part.value][position].state != nullptr; }
  /// ... or every state with the switch there has been noted.
  bool& all_noted(PartIndex part, std::size_t position) { return at_[part.value][position].all_noted; }

  /// How it shows where the watch is not concerned; empty: it does not.
  std::string outside(const Watch&) const;

 private:
  struct Sign {
    const BaseState* state = nullptr;
    std::size_t seen = 0;
    std::uint8_t now = 0;
    bool all_noted = false;
  };

  std::string switches(const Positions&) const;

  const Loom& loom_;
  std::vector<std::vector<Sign>> at_;
  std::pair<PartIndex, std::size_t> sought_;
};

}  // namespace loomproof
