// The known name that a misspelt one was probably meant to be.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

namespace loomproof {

/// The name of `known` with the fewest slips of the keyboard (a letter more, fewer, other, or two swapped) from `name`,
/// letter case and `-` against `_` not counted; nothing when more than a third of the letters differ. The earliest of
/// equally near names wins. Looks at the first few thousand names at the most.
std::optional<std::string_view> find_nearest(std::string_view name, const std::vector<std::string_view>& known);

/// At most one such slip apart, by the same measure; names of at most 48 letters.
bool is_one_slip(std::string_view, std::string_view);

}  // namespace loomproof
