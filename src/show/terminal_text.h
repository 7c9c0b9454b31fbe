// What the texts for a terminal share.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include <fmt/format.h>

namespace loomproof {

inline constexpr std::size_t page_width = 100;  // columns

/// "1 situation", "2 situations".
inline std::string counted(std::size_t n, std::string_view noun) {
  return fmt::format("{} {}{}", n, noun, n == 1 ? "" : "s");
}

}  // namespace loomproof
