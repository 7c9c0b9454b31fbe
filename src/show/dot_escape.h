// Names of the user as DOT strings that cannot end early, start markup or hide a control character.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace loomproof {

/// Text for the eye (labels, tooltips) as a double-quoted DOT string. Quotes, backslashes and `&` are escaped so that
/// neither DOT nor its escape sequences (`\N`, `\l`) nor its entities see them; control characters become spaces;
/// bytes that are not UTF-8 become `?`.
std::string dot_label(std::string_view text);

/// A node's identity as a double-quoted DOT string: distinct for distinct text, printable ASCII only.
std::string dot_id(std::string_view text);

/// At most `most` characters (code points) of the text, the cut shown by an ellipsis; control characters and broken
/// UTF-8 are replaced as in dot_label.
std::string shortened(std::string_view text, std::size_t most);

/// Code points in well-formed UTF-8 text.
std::size_t characters_in(std::string_view text);

}  // namespace loomproof
