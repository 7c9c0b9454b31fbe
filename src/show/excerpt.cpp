// Cuts a source line to the width of a terminal and underlines one token of it.
#include "show/excerpt.h"

#include <algorithm>

#include <fmt/format.h>

#include "show/wash.h"

namespace loomproof {
namespace {

constexpr std::size_t widest = 100;  // columns of the source line
constexpr std::size_t reach = 1024;  // bytes on each side of the mark that are looked at, however long the line

// Length in bytes of the token that starts at `from`: a quoted text whole, a plain one up to where YAML ends it.
std::size_t token_length(std::string_view line, std::size_t from) {
  const std::string_view rest = line.substr(from);
  if (rest.empty()) return 1;
  if (rest[0] == '"' || rest[0] == '\'') {
    const std::size_t close = rest.find(rest[0], 1);
    return close == std::string_view::npos ? rest.size() : close + 1;
  }
  std::size_t end = 1;
  while (end < rest.size()) {
    const char c = rest[end];
    const bool blank_next = end + 1 >= rest.size() || rest[end + 1] == ' ';
    if (c == ',' || c == '{' || c == '}' || c == '[' || c == ']' || (c == ':' && blank_next)) break;
    if (c == '#' && rest[end - 1] == ' ') break;
    ++end;
  }
  if (rest[0] == '{' || rest[0] == '[') end = 1;
  while (end > 1 && (rest[end - 1] == ' ' || rest[end - 1] == '\t' || rest[end - 1] == '\r')) --end;
  return end;
}

struct Window {
  std::string text;
  std::size_t caret = 0;   // column of the mark
  std::size_t length = 1;  // columns of the mark
};

Window window_of(std::string_view line, std::size_t from_byte) {
  while (!line.empty() && (line.back() == '\r' || line.back() == '\n')) line.remove_suffix(1);
  from_byte = std::min(from_byte, line.size());
  const bool cut_left = from_byte > reach;
  if (cut_left) {
    std::size_t start = from_byte - reach;
    while (start < from_byte && (static_cast<unsigned char>(line[start]) & 0xC0) == 0x80) ++start;
    line.remove_prefix(start);
    from_byte -= start;
  }
  const bool cut_right = line.size() > from_byte + reach;
  if (cut_right) line = line.substr(0, from_byte + reach);
  const std::size_t end_byte = from_byte + token_length(line, from_byte);
  const std::vector<Glyph> glyphs = glyphs_of(line);
  const auto at_byte = [&](std::size_t byte) {
    return static_cast<std::size_t>(
        std::partition_point(glyphs.begin(), glyphs.end(), [&](const Glyph& g) { return g.from < byte; }) -
        glyphs.begin());
  };
  const std::size_t mark = at_byte(from_byte);
  const std::size_t mark_end = std::max(at_byte(end_byte), mark + 1);

  // Grow to the left and right of the mark in turn while there is room.
  std::size_t first = std::min(mark, glyphs.size());
  std::size_t last = first;
  std::size_t used = 0;
  bool grew = true;
  const auto fits = [&](std::size_t i) { return used + glyphs[i].width <= widest; };
  while (last < std::min(mark_end, glyphs.size()) && fits(last)) used += glyphs[last++].width;
  while (grew) {
    grew = false;
    if (first > 0 && fits(first - 1)) used += glyphs[--first].width, grew = true;
    if (last < glyphs.size() && fits(last)) used += glyphs[last++].width, grew = true;
  }

  Window window;
  if (first > 0 || cut_left) window.text = "...";
  window.caret = window.text.size();
  for (std::size_t i = first; i < last; ++i) {
    window.text += glyphs[i].text;
    if (i < mark) window.caret += glyphs[i].width;
  }
  if (last < glyphs.size() || cut_right) window.text += "...";
  std::size_t length = 0;
  for (std::size_t i = mark; i < std::min(mark_end, last); ++i) length += glyphs[i].width;
  window.length = std::max<std::size_t>(length, 1);
  return window;
}

}  // namespace

Paint paint_of(bool colour) {
  if (!colour) return {};
  return {"\x1b[1m", "\x1b[1;31m", "\x1b[1;33m", "\x1b[1;32m", "\x1b[2m", "\x1b[0m"};
}

std::string excerpt_of(std::string_view file, Place at, const std::vector<std::string>& lines, const Paint& paint,
                       std::string_view after) {
  if (!at) return fmt::format("  {}-->{} {}{}\n", paint.faint, paint.off, washed(file), after);
  const std::string number = std::to_string(at.line);
  const std::string gutter(number.size(), ' ');
  std::string out = fmt::format("{} {}-->{} {}:{}:{}{}\n", gutter, paint.faint, paint.off, washed(file), at.line,
                                std::max(at.column, 1), after);
  if (static_cast<std::size_t>(at.line) > lines.size()) return out;
  const std::string& line = lines[static_cast<std::size_t>(at.line) - 1];
  const Window window = window_of(line, static_cast<std::size_t>(std::max(at.column, 1) - 1));
  out += fmt::format("{} {}|{}\n", gutter, paint.faint, paint.off);
  out += fmt::format("{}{} |{} {}\n", paint.faint, number, paint.off, window.text);
  out += fmt::format("{} {}|{} {}{}{}{}\n", gutter, paint.faint, paint.off, std::string(window.caret, ' '),
                     paint.strong, std::string(window.length, '^'), paint.off);
  return out;
}

}  // namespace loomproof
