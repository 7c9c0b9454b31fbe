// One pass over the bytes of a file.
#include "read/text_check.h"

#include <fmt/core.h>

namespace loomproof {
namespace {

constexpr std::string_view utf8_mark = "\xEF\xBB\xBF";
// Far more than any written file holds open, far fewer than a parser's queue minds.
constexpr int most_open_brackets = 2000;

// Bytes of the well-formed UTF-8 character at `i` (RFC 3629, section 4), or 0.
std::size_t character_length(std::string_view text, std::size_t i) {
  const auto byte = [&](std::size_t k) { return static_cast<unsigned char>(text[k]); };
  const unsigned char first = byte(i);
  const std::size_t length = first < 0xC2 ? 0 : first < 0xE0 ? 2 : first < 0xF0 ? 3 : first < 0xF5 ? 4 : 0;
  if (length == 0 || text.size() - i < length) return 0;
  for (std::size_t k = 1; k < length; ++k) {
    if ((byte(i + k) & 0xC0) != 0x80) return 0;
  }
  const unsigned char second = byte(i + 1);
  const bool overlong = (first == 0xE0 && second < 0xA0) || (first == 0xF0 && second < 0x90);
  const bool surrogate = first == 0xED && second > 0x9F;
  const bool beyond = first == 0xF4 && second > 0x8F;
  return overlong || surrogate || beyond ? 0 : length;
}

}  // namespace

std::string_view without_mark(std::string_view text) {
  if (text.starts_with(utf8_mark)) text.remove_prefix(utf8_mark.size());
  return text;
}

bool check_text(std::string_view text, const ReadBounds& bounds, Faults& faults) {
  const Place start{1, 1};
  if (text.size() > bounds.bytes) {
    faults.add(start, fmt::format("the file has {} bytes; at most {} are read", text.size(), bounds.bytes),
               "a vehicle's wiring takes some ten thousand");
    return false;
  }
  if (text.starts_with("\xFF\xFE") || text.starts_with("\xFE\xFF")) {
    faults.add(start, "the file is UTF-16; UTF-8 is expected", "save it as UTF-8");
    return false;
  }
  int line = 1;
  std::size_t line_start = 0;
  std::size_t separators = 0;
  std::size_t lines = 1;
  int open = 0;
  for (std::size_t i = 0; i < text.size();) {
    const auto c = static_cast<unsigned char>(text[i]);
    const Place here{line, static_cast<int>(i - line_start) + 1};
    if (c >= 0x80) {
      const std::size_t length = character_length(text, i);
      if (length == 0) {
        faults.add(here, fmt::format("byte 0x{:02X} is not UTF-8", c), "save the file as UTF-8");
        return false;
      }
      i += length;
      continue;
    }
    if (c == '\n') {
      ++line;
      ++lines;
      line_start = i + 1;
    } else if (c == '\r') {
      if (i + 1 == text.size() || text[i + 1] != '\n') {
        faults.add(here, "a carriage return without a line feed", "end lines with LF or CR LF");
        return false;
      }
    } else if ((c < 0x20 && c != '\t') || c == 0x7F) {
      faults.add(here, fmt::format("control byte 0x{:02X} in the text", c), "a description is plain text: remove it");
      return false;
    } else if (c == '[' || c == '{') {
      ++separators;
      if (++open > most_open_brackets) {
        faults.add(here, fmt::format("more than {} brackets are open", most_open_brackets),
                   "close each '[' and '{' again");
        return false;
      }
    } else if (c == ']' || c == '}') {
      if (open > 0) --open;
    } else if (c == ',') {
      ++separators;
    }
    if (separators > bounds.nodes || lines > bounds.nodes) {
      faults.add(here, fmt::format("more than {} values or lines", bounds.nodes), "split the description");
      return false;
    }
    ++i;
  }
  return true;
}

}  // namespace loomproof
