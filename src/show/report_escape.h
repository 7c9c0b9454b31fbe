// Text of the user inside HTML, SVG and script data: it stays text, whatever it holds.
#pragma once

#include <string>
#include <string_view>

namespace loomproof {

/// For text between tags and for attribute values in either kind of quotes. Control characters, bytes that are not
/// UTF-8 and characters that turn or hide text become '?'.
std::string html(std::string_view text);

/// JSON as it may stand inside <script>: no '<', '>' or '&' is left in it, and nothing beyond ASCII.
/// @param json  valid JSON, ASCII only
std::string for_script(std::string_view json);

}  // namespace loomproof
