// What a text must satisfy before a YAML parser may see it.
#pragma once

#include <string_view>

#include "read/faults.h"

namespace loomproof {

/// The text without its byte order mark, if it has one.
std::string_view without_mark(std::string_view text);

/// Refuses what yaml-cpp would cut off in silence (byte 4 ends its input), misread, or choke on: too many bytes, bytes
/// that are not UTF-8, control characters, thousands of brackets left open, more separators than nodes allowed.
/// @return false when a fault was added
bool check_text(std::string_view text, const ReadBounds& bounds, Faults& faults);

}  // namespace loomproof
