// The user's text with other values at known places, and nothing else changed.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/place.h"

namespace loomproof {

struct Edit {
  Place at;         // of the value, 1-based line and byte column, as the reader gave it
  std::string old;  // the value that stands there, without quotes
  std::string now;
};

/// Every byte outside the edited values stays. A value in quotes keeps them; an anchor before it stays.
/// @return nullopt when `old` does not stand where an edit says
std::optional<std::string> edited(std::string_view text, std::vector<Edit> edits);

}  // namespace loomproof
