// What the program's exit code says.
#pragma once

#include <algorithm>
#include <array>

namespace loomproof {

enum class Exit {
  holds = 0,      // all hold
  broken = 1,     // something is broken
  unusable = 2,   // the input or the command line cannot be used: nothing was checked
  undecided = 3,  // nothing is broken but something is undecided
  outside = 4,    // an outside failure: no `dot`, cannot write
};

/// Of several files the gravest counts: an outside failure, then a file that was not checked, then a broken
/// obligation, then an undecided one. A file that was not checked goes before a broken one since it may hide worse.
constexpr Exit worst(Exit a, Exit b) {
  constexpr std::array gravest_first{Exit::outside, Exit::unusable, Exit::broken, Exit::undecided, Exit::holds};
  return *std::find_if(gravest_first.begin(), gravest_first.end(), [&](Exit e) { return e == a || e == b; });
}

}  // namespace loomproof
