// Blanks and whole words of the user's text.
#pragma once

#include <string_view>

namespace loomproof {

/// `text` without blanks at its ends: ASCII blanks and line ends, and the no-break spaces that word processors set
/// before a unit.
std::string_view trimmed(std::string_view text);
std::string_view trimmed_start(std::string_view text);

/// `text` before and after the first `word` that stands alone between ASCII blanks or ends; all of it in `first` and
/// `split` false when there is none.
struct Halves {
  std::string_view first;
  std::string_view second;
  bool split = false;
};
Halves split_at_word(std::string_view text, std::string_view word);

/// Where the first ASCII blank stands, or npos.
std::size_t find_blank(std::string_view text);

}  // namespace loomproof
