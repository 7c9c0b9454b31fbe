// Blanks and whole words of the user's text, each found in one pass over it.
#include "units/words.h"

namespace loomproof {
namespace {

constexpr std::string_view blank = " \t\r\n\v\f";

// Bytes of blank at the start of `text`: an ASCII blank, or a no-break space as word processors set before a unit.
std::size_t blank_length(std::string_view text) {
  if (text.starts_with("\u00A0")) return 2;
  if (text.starts_with("\u202F") || text.starts_with("\u2009")) return 3;
  return !text.empty() && blank.find(text[0]) != std::string_view::npos ? 1 : 0;
}

// Where a blank-bounded `word` stands in `text`, or npos.
std::size_t find_word(std::string_view text, std::string_view word) {
  for (std::size_t at = text.find(word); at != std::string_view::npos; at = text.find(word, at + 1)) {
    const std::size_t after = at + word.size();
    const bool opens = at == 0 || blank.find(text[at - 1]) != std::string_view::npos;
    const bool closes = after == text.size() || blank.find(text[after]) != std::string_view::npos;
    if (opens && closes) return at;
  }
  return std::string_view::npos;
}

}  // namespace

std::string_view trimmed_start(std::string_view text) {
  for (std::size_t n = blank_length(text); n > 0; n = blank_length(text)) text.remove_prefix(n);
  return text;
}

std::string_view trimmed(std::string_view text) {
  text = trimmed_start(text);
  for (;;) {
    if (text.ends_with("\u00A0")) {
      text.remove_suffix(2);
    } else if (text.ends_with("\u202F") || text.ends_with("\u2009")) {
      text.remove_suffix(3);
    } else if (!text.empty() && blank.find(text.back()) != std::string_view::npos) {
      text.remove_suffix(1);
    } else {
      return text;
    }
  }
}

Halves split_at_word(std::string_view text, std::string_view word) {
  const std::size_t at = find_word(text, word);
  if (at == std::string_view::npos) return {text, {}, false};
  return {text.substr(0, at), text.substr(at + word.size()), true};
}

std::size_t find_blank(std::string_view text) {
  return text.find_first_of(blank);
}

}  // namespace loomproof
