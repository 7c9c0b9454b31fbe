// The damage limit between its published points.
#include "solve/damage_limit.h"

#include <algorithm>
#include <array>

namespace loomproof {

Celsius damage_limit(const DamageLimits& limits, Second time) {
  struct Anchor {
    double time_s;
    double limit_c;
  };
  // A class whose figures are out of order never gains from a longer time.
  const double overload_c = std::min(limits.overload_6h.value, limits.short_circuit_5s.value);
  const double short_c = std::min(limits.short_term_240h.value, overload_c);
  const std::array<Anchor, 4> anchors{{{5, limits.short_circuit_5s.value},
                                       {6 * 3600.0, overload_c},
                                       {240 * 3600.0, short_c},
                                       {3000 * 3600.0, std::min(limits.long_term.value, short_c)}}};
  if (!(time.value > anchors.front().time_s)) return Celsius(anchors.front().limit_c);
  for (std::size_t i = 1; i < anchors.size(); ++i) {
    const Anchor &from = anchors[i - 1], &to = anchors[i];
    if (time.value > to.time_s) continue;
    const double share = std::log(time.value / from.time_s) / std::log(to.time_s / from.time_s);
    return Celsius(from.limit_c + share * (to.limit_c - from.limit_c));
  }
  return Celsius(anchors.back().limit_c);
}

}  // namespace loomproof
