// The largest current that a fuse or a wire carries while nothing is wrong.
#include "show/fuse_use.h"

#include <algorithm>

namespace loomproof {
namespace {

FuseUse most_of(const Solved& solved, BranchType type, std::size_t index, const Extreme& held) {
  FuseUse use{Ampere(held ? held.value : 0)};
  for (const Charging& charging : solved.chargings) {
    const Closing& closing = charging.closing;
    const bool through = std::any_of(closing.around.begin(), closing.around.end(), [&](std::size_t i) {
      const Branch& b = solved.circuit.branches[i];
      return b.type == type && b.index == index;
    });
    if (!through || !closing.precharge_ohm || *closing.precharge_ohm <= 0) continue;
    const Ampere first(closing.source_v / *closing.precharge_ohm);
    if (first > use.most) use = {first, true};
  }
  return use;
}

}  // namespace

FuseUse most_in_use(const Solved& solved, std::size_t fuse) {
  return most_of(solved, BranchType::fuse, fuse, solved.extremes.fuse_a[fuse]);
}

FuseUse most_in_use(const Solved& solved, WireIndex wire) {
  return most_of(solved, BranchType::wire, wire.value, solved.extremes.wire_a[wire.value]);
}

}  // namespace loomproof
