// Text made safe and measurable for a terminal: no byte of a user's file may command it.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace loomproof {

/// One character as it will be printed: harmless bytes, how many columns it fills, and the byte that it came from.
struct Glyph {
  std::string text;
  std::size_t width = 1;  // 0 for a combining mark, 2 for a wide character
  std::size_t from = 0;   // offset in the text given
};

/// Tabs become a space; control characters, bytes that are not UTF-8, and characters that reorder or hide text
/// become '?'.
std::vector<Glyph> glyphs_of(std::string_view text);

/// The same as one string.
std::string washed(std::string_view text);

/// Columns that `text` fills once washed.
std::size_t width_of(std::string_view text);

/// `text` washed and filled with blanks up to `width` columns.
std::string padded(std::string_view text, std::size_t width);

/// Washed words in lines of at most `width` columns; a longer word stands alone. Each line starts with `indent`
/// blanks and ends with a newline.
std::string wrapped(std::string_view text, std::size_t indent, std::size_t width);

}  // namespace loomproof
