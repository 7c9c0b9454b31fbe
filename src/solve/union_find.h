// Sets that only ever grow together.
#pragma once

#include <vector>

namespace loomproof {

/// Top of the set that `i` is in, where every entry of `up` leads upwards and a top to itself; shortens the way up.
/// Two sets are joined by up[top(up, a)] = top(up, b).
inline int top(std::vector<int>& up, int i) {
  while (up[i] != i) i = up[i] = up[up[i]];
  return i;
}

}  // namespace loomproof
