// Makes any bytes safe for a message: one line, valid UTF-8, short.
#include "units/quote.h"

namespace loomproof {
namespace {

// Bytes of the UTF-8 character that `text` starts with; 0 when these bytes are none.
std::size_t character_length(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char first = byte(0);
  if (first < 0x80) return 1;
  const std::size_t length = first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : 2;
  if (first < 0xC2 || first > 0xF4 || text.size() < length) return 0;
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xC0) != 0x80) return 0;
  }
  // Overlong forms, surrogates and what lies beyond U+10FFFF are not UTF-8 either.
  const unsigned char second = byte(1);
  if ((first == 0xE0 && second < 0xA0) || (first == 0xED && second > 0x9F)) return 0;
  if ((first == 0xF0 && second < 0x90) || (first == 0xF4 && second > 0x8F)) return 0;
  // U+0080..U+009F are control characters; U+2028 and U+2029 end a line in some readers.
  if (first == 0xC2 && second < 0xA0) return 0;
  if (first == 0xE2 && second == 0x80 && (byte(2) == 0xA8 || byte(2) == 0xA9)) return 0;
  // U+202A..U+202E and U+2066..U+2069 turn the direction of all that follows them.
  if (first == 0xE2 && second == 0x80 && byte(2) >= 0xAA && byte(2) <= 0xAE) return 0;
  if (first == 0xE2 && second == 0x81 && byte(2) >= 0xA6 && byte(2) <= 0xA9) return 0;
  return length;
}

}  // namespace

std::string quoted(std::string_view text) {
  constexpr std::size_t longest = 40;
  std::string out = "'";
  while (!text.empty()) {
    const std::size_t length = character_length(text);
    if (out.size() + (length == 0 ? 1 : length) > longest + 1) {
      out += "...";
      break;
    }
    const bool control = length == 1 && (static_cast<unsigned char>(text[0]) < 0x20 || text[0] == 0x7F);
    if (length == 0 || control) {
      out += '?';
    } else {
      out += text.substr(0, length);
    }
    text.remove_prefix(length == 0 ? 1 : length);
  }
  out += '\'';
  return out;
}

}  // namespace loomproof
