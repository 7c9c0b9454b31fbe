// How a promise that does not hold ends the program, and what text is harmless: told here once more, apart from the
// product's own escape functions, so that a mistake in those does not hide itself.
#include <cstdio>
#include <cstdlib>
#include <string>

#include "targets.h"

namespace loomproof::fuzz {
namespace {

/// @return length of the sequence at `at`, 0 when it is none; RFC 3629, section 4
std::size_t sequence(std::string_view text, std::size_t at) {
  const auto byte = [&](std::size_t i) { return at + i < text.size() ? static_cast<unsigned char>(text[at + i]) : 0U; };
  const auto tail = [&](std::size_t i) { return (byte(i) & 0xC0) == 0x80; };
  const unsigned first = byte(0);
  if (first < 0x80) return 1;
  if (first >= 0xC2 && first < 0xE0) return tail(1) ? 2 : 0;
  if (first >= 0xE0 && first < 0xF0) {
    if (!tail(1) || !tail(2) || (first == 0xE0 && byte(1) < 0xA0) || (first == 0xED && byte(1) >= 0xA0)) return 0;
    return 3;
  }
  if (first >= 0xF0 && first < 0xF5) {
    if (!tail(1) || !tail(2) || !tail(3) || (first == 0xF0 && byte(1) < 0x90) || (first == 0xF4 && byte(1) >= 0x90))
      return 0;
    return 4;
  }
  return 0;
}

}  // namespace

void fail(std::string_view what, std::string_view shown) {
  std::fprintf(stderr, "does not hold: %.*s\n%.*s\n", static_cast<int>(what.size()), what.data(),
               static_cast<int>(shown.size()), shown.data());
  std::abort();
}

bool is_harmless(std::string_view text, bool lines) {
  for (std::size_t i = 0; i < text.size();) {
    const std::size_t length = sequence(text, i);
    if (length == 0) return false;
    const auto first = static_cast<unsigned char>(text[i]);
    if (length == 1 && (first == 0x7F || (first < 0x20 && !(lines && text[i] == '\n')))) return false;
    if (length == 2 && first == 0xC2 && static_cast<unsigned char>(text[i + 1]) < 0xA0) return false;  // C1
    const std::string_view character = text.substr(i, length);
    if (character >= "\xE2\x80\xAA" && character <= "\xE2\x80\xAE") return false;  // these turn the direction of text
    if (character >= "\xE2\x81\xA6" && character <= "\xE2\x81\xA9") return false;
    i += length;
  }
  return true;
}

}  // namespace loomproof::fuzz
