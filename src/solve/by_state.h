// What belongs to situations, found by pack charge and switch positions.
#pragma once

#include <algorithm>
#include <compare>
#include <utility>
#include <vector>

#include "solve/operating_point.h"

namespace loomproof {

/// Things by pack charge and switch positions, in that order; what is taken in must outlive it. Copies no positions,
/// of which there are as many as parts.
template <class Thing>
class ByState {
 public:
  /// @param later_wins  of two things of one state the one that was taken in last is kept, else the first
  explicit ByState(bool later_wins = false) : later_wins_(later_wins) {}

  void add(const Situation& situation, const Thing& thing) { list_.emplace_back(&situation, &thing); }
  /// After the last add(), before anything is asked.
  void close() {
    if (later_wins_) std::reverse(list_.begin(), list_.end());
    std::stable_sort(list_.begin(), list_.end(), [](const auto& a, const auto& b) {
      return compare(*a.first, b.first->charge, b.first->positions) < 0;
    });
    const auto same = [](const auto& a, const auto& b) {
      return compare(*a.first, b.first->charge, b.first->positions) == 0;
    };
    list_.erase(std::unique(list_.begin(), list_.end(), same), list_.end());
  }

  /// nullptr: there is none.
  const Thing* at(Charge charge, const std::vector<std::int8_t>& positions) const {
    const auto found = std::partition_point(list_.begin(), list_.end(),
                                            [&](const auto& a) { return compare(*a.first, charge, positions) < 0; });
    return found != list_.end() && compare(*found->first, charge, positions) == 0 ? found->second : nullptr;
  }

  /// Pairs of pointers to situation and thing.
  auto begin() const { return list_.begin(); }
  auto end() const { return list_.end(); }

 private:
  static std::strong_ordering compare(const Situation& a, Charge charge, const std::vector<std::int8_t>& positions) {
    return a.charge != charge ? a.charge <=> charge : a.positions <=> positions;
  }

  bool later_wins_ = false;
  std::vector<std::pair<const Situation*, const Thing*>> list_;
};

}  // namespace loomproof
