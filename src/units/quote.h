// Text of the user's, made safe to stand inside a one-line message.
#pragma once

#include <string>
#include <string_view>

namespace loomproof {

/// `'text'` for a message: cut to 40 bytes with "..." when longer; control characters, bytes that are not UTF-8 and
/// characters that turn the direction of text become '?'.
std::string quoted(std::string_view text);

}  // namespace loomproof
