// The largest current that a fuse carries while nothing is wrong.
#include "show/fuse_use.h"

#include <algorithm>

namespace loomproof {

FuseUse most_in_use(const Solved& solved, std::size_t fuse) {
  const Extreme& held = solved.extremes.fuse_a[fuse];
  FuseUse use{Ampere(held ? held.value : 0)};
  for (const Charging& charging : solved.chargings) {
    const Closing& closing = charging.closing;
    const bool through = std::any_of(closing.around.begin(), closing.around.end(), [&](std::size_t i) {
      const Branch& b = solved.circuit.branches[i];
      return b.type == BranchType::fuse && b.index == fuse;
    });
    if (!through || !closing.precharge_ohm || *closing.precharge_ohm <= 0) continue;
    const Ampere first(closing.source_v / *closing.precharge_ohm);
    if (first > use.most) use = {first, true};
  }
  return use;
}

}  // namespace loomproof
