// Indices into the loom's tables; each its own type so that a wire never passes for a terminal.
#pragma once

#include <compare>
#include <cstddef>
#include <functional>

namespace loomproof {

template <class Tag>
struct Index {
  std::size_t value = 0;
  friend constexpr auto operator<=>(const Index&, const Index&) = default;
};

using PartIndex = Index<struct PartTag>;
using TerminalIndex = Index<struct TerminalTag>;
using WireIndex = Index<struct WireTag>;
using BundleIndex = Index<struct BundleTag>;
using DutyIndex = Index<struct DutyTag>;

}  // namespace loomproof
