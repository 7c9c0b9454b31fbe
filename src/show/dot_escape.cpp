// Names of the user as DOT strings that cannot end early, start markup or hide a control character.
#include "show/dot_escape.h"

#include <fmt/format.h>

namespace loomproof {
namespace {

/// Length of the well-formed UTF-8 sequence at the start of `text`, 0 when there is none (overlong forms, surrogates
/// and values past U+10FFFF included: renderers refuse the whole file for one of them).
std::size_t sequence_length(std::string_view text) {
  const auto byte = [&](std::size_t i) { return i < text.size() ? static_cast<unsigned char>(text[i]) : 0U; };
  const auto follows = [&](std::size_t i, unsigned low = 0x80, unsigned high = 0xBF) {
    return byte(i) >= low && byte(i) <= high;
  };
  const unsigned first = byte(0);
  if (first < 0x80) return 1;
  if (first >= 0xC2 && first <= 0xDF) return follows(1) ? 2 : 0;
  if (first >= 0xE0 && first <= 0xEF) {
    const unsigned low = first == 0xE0 ? 0xA0 : 0x80;
    const unsigned high = first == 0xED ? 0x9F : 0xBF;
    return follows(1, low, high) && follows(2) ? 3 : 0;
  }
  if (first >= 0xF0 && first <= 0xF4) {
    const unsigned low = first == 0xF0 ? 0x90 : 0x80;
    const unsigned high = first == 0xF4 ? 0x8F : 0xBF;
    return follows(1, low, high) && follows(2) && follows(3) ? 4 : 0;
  }
  return 0;
}

/// The characters that XML 1.0 forbids or that would break a line: C0, DEL, C1, line separators, U+FFFE and U+FFFF.
bool is_control(std::string_view sequence) {
  const auto first = static_cast<unsigned char>(sequence[0]);
  if (sequence.size() == 1) return first < 0x20 || first == 0x7F;
  if (sequence.size() == 2) return first == 0xC2 && static_cast<unsigned char>(sequence[1]) < 0xA0;
  if (sequence.size() != 3) return false;
  return sequence == "\xE2\x80\xA8" || sequence == "\xE2\x80\xA9" || sequence == "\xEF\xBF\xBE" ||
         sequence == "\xEF\xBF\xBF" || (sequence >= "\xE2\x80\xAA" && sequence <= "\xE2\x80\xAE") ||
         (sequence >= "\xE2\x81\xA6" && sequence <= "\xE2\x81\xA9");  // the last two turn the direction of text
}

template <class Take>
void for_each_character(std::string_view text, Take take) {
  while (!text.empty()) {
    const std::size_t length = sequence_length(text);
    if (length == 0) {
      take(std::string_view("?"));
      text.remove_prefix(1);
      continue;
    }
    const std::string_view sequence = text.substr(0, length);
    take(is_control(sequence) ? std::string_view(" ") : sequence);
    text.remove_prefix(length);
  }
}

}  // namespace

std::string dot_label(std::string_view text) {
  std::string out = "\"";
  for_each_character(text, [&](std::string_view character) {
    if (character == "\"") {
      out += "&quot;";
    } else if (character == "\\") {
      out += "&#92;";
    } else if (character == "&") {
      out += "&amp;";
    } else {
      out += character;
    }
  });
  return out + "\"";
}

std::string dot_id(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    const bool plain = (byte >= '0' && byte <= '9') || (byte >= 'A' && byte <= 'Z') || (byte >= 'a' && byte <= 'z') ||
                       c == '_' || c == '-' || c == '.' || c == '@' || c == ' ';
    out += plain ? std::string(1, c) : fmt::format("%{:02X}", byte);
  }
  return out + "\"";
}

std::string shortened(std::string_view text, std::size_t most) {
  std::string out;
  std::string before_cut;
  std::size_t count = 0;
  for_each_character(text, [&](std::string_view character) {
    ++count;
    if (count < most) before_cut += character;
    if (count <= most) out += character;
  });
  return count <= most ? out : before_cut + "…";
}

std::size_t characters_in(std::string_view text) {
  std::size_t count = 0;
  for_each_character(text, [&](std::string_view) { ++count; });
  return count;
}

}  // namespace loomproof
