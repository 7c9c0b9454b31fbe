// Where in the user's file a thing was written.
#pragma once

#include <compare>

namespace loomproof {

/// 1-based line and column (columns count bytes); line 0 means "nowhere in the file" (an assumption, a derived thing).
struct Place {
  int line = 0;
  int column = 0;

  explicit operator bool() const { return line > 0; }
  friend auto operator<=>(const Place&, const Place&) = default;
};

}  // namespace loomproof
