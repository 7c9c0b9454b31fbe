// Decodes UTF-8 strictly and lets through only what a terminal prints and does not obey.
#include "show/wash.h"

#include <algorithm>
#include <array>

namespace loomproof {
namespace {

struct Range {
  char32_t first, last;
};

struct Decoded {
  char32_t code = 0;
  std::size_t length = 0;  // 0: these bytes are no character
};

Decoded decode(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char first = byte(0);
  if (first < 0x80) return {first, 1};
  if (first < 0xC2 || first > 0xF4) return {};
  const std::size_t length = first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : 2;
  if (text.size() < length) return {};
  char32_t code = first & (0x7Fu >> length);
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xC0) != 0x80) return {};
    code = (code << 6) | (byte(i) & 0x3Fu);
  }
  constexpr std::array<char32_t, 5> least{0, 0, 0x80, 0x800, 0x10000};
  if (code < least[length] || code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF)) return {};
  return {code, length};
}

template <std::size_t N>
bool among(char32_t code, const std::array<Range, N>& ranges) {
  return std::any_of(ranges.begin(), ranges.end(),
                     [&](Range range) { return code >= range.first && code <= range.last; });
}

// Control characters, and those of Unicode that end lines, reverse the direction of reading, or print nothing.
bool is_harmful(char32_t code) {
  constexpr std::array<Range, 13> harmful{{{0x00, 0x1F},
                                           {0x7F, 0x9F},
                                           {0xAD, 0xAD},
                                           {0x61C, 0x61C},
                                           {0x115F, 0x1160},
                                           {0x180E, 0x180E},
                                           {0x200B, 0x200F},
                                           {0x2028, 0x202E},
                                           {0x2060, 0x206F},
                                           {0x3164, 0x3164},
                                           {0xFEFF, 0xFEFF},
                                           {0xFFF0, 0xFFFB},
                                           {0xE0000, 0x10FFFF}}};
  return among(code, harmful);
}

// Main ranges of combining marks and of East Asian wide characters (Unicode Standard Annex 11, from memory).
std::size_t columns_of(char32_t code) {
  constexpr std::array<Range, 6> combining{
      {{0x300, 0x36F}, {0x483, 0x489}, {0x591, 0x5BD}, {0x1AB0, 0x1AFF}, {0x20D0, 0x20FF}, {0xFE00, 0xFE0F}}};
  constexpr std::array<Range, 9> wide{{{0x1100, 0x115E},
                                       {0x2E80, 0x303E},
                                       {0x3041, 0xA4CF},
                                       {0xAC00, 0xD7A3},
                                       {0xF900, 0xFAFF},
                                       {0xFE30, 0xFE6F},
                                       {0xFF00, 0xFF60},
                                       {0x1F300, 0x1FAFF},
                                       {0x20000, 0x3FFFD}}};
  if (among(code, combining)) return 0;
  return among(code, wide) ? 2 : 1;
}

}  // namespace

std::vector<Glyph> glyphs_of(std::string_view text) {
  std::vector<Glyph> glyphs;
  std::size_t at = 0;
  while (at < text.size()) {
    const auto [code, length] = decode(text.substr(at));
    if (code == '\t' && length == 1) {
      glyphs.push_back({" ", 1, at});
    } else if (length == 0 || is_harmful(code)) {
      glyphs.push_back({"?", 1, at});
    } else {
      glyphs.push_back({std::string(text.substr(at, length)), columns_of(code), at});
    }
    at += std::max<std::size_t>(length, 1);
  }
  return glyphs;
}

std::string washed(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  for (const Glyph& glyph : glyphs_of(text)) out += glyph.text;
  return out;
}

std::size_t width_of(std::string_view text) {
  std::size_t width = 0;
  for (const Glyph& glyph : glyphs_of(text)) width += glyph.width;
  return width;
}

std::string padded(std::string_view text, std::size_t width) {
  std::string out = washed(text);
  const std::size_t filled = width_of(text);
  if (filled < width) out.append(width - filled, ' ');
  return out;
}

std::string wrapped(std::string_view text, std::size_t indent, std::size_t width) {
  std::string out;
  std::size_t column = 0;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(' '), text.size());
    const std::string_view word = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    if (word.empty()) continue;
    const std::size_t long_word = width_of(word);
    if (column > 0 && column + 1 + long_word > width) {
      out += '\n';
      column = 0;
    }
    if (column == 0) {
      out.append(indent, ' ');
      column = indent;
    } else {
      out += ' ';
      ++column;
    }
    out += washed(word);
    column += long_word;
  }
  if (column > 0) out += '\n';
  return out;
}

}  // namespace loomproof
