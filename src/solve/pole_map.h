// What each supply's two poles lead to, whichever contacts are closed: read from the wiring, without any situation.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "solve/solved.h"

namespace loomproof {

struct PolePair {
  PartIndex part;
  TerminalIndex pos, neg;
  std::optional<double> least_v;    // what it gives at least, where that is known
  std::vector<PartIndex> backward;  // parts with poles that lie on it the wrong way round
  std::vector<PartIndex> straight;

  /// Two or more lie backward on it, and fewer straight: then not they are turned, but the supply.
  bool is_turned() const { return backward.size() > 1 && backward.size() > straight.size(); }
};

/// Packs, batteries, chargers and converters' outputs as a whole; sensor supplies are left out.
class PoleMap {
 public:
  explicit PoleMap(const Solved&);

  const std::vector<PolePair>& supplies() const { return supplies_; }
  /// The supply of this part, when it is turned.
  const PolePair* turned(PartIndex) const;
  /// The turned supply that puts `pos` on its negative pole and `neg` on its positive; nullptr: none.
  const PolePair* turned_behind(TerminalIndex pos, TerminalIndex neg) const;
  /// A supply with one pole at each of the two terminals that gives more than `limit_v` in any state.
  const PolePair* always_above(TerminalIndex a, TerminalIndex b, double limit_v) const;

 private:
  int piece(TerminalIndex t) const;

  const Solved& solved_;
  std::vector<int> piece_;
  std::vector<PolePair> supplies_;
};

}  // namespace loomproof
