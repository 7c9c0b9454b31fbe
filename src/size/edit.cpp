// Edits are made from the end of the text to its start, so that no place moves before its turn.
#include "size/edit.h"

#include <algorithm>

namespace loomproof {
namespace {

std::optional<std::size_t> offset_of(std::string_view text, Place at) {
  std::size_t start = text.starts_with("\xEF\xBB\xBF") ? 3 : 0;
  for (int line = 1; line < at.line; ++line) {
    const std::size_t end = text.find_first_of("\r\n", start);
    if (end == std::string_view::npos) return std::nullopt;
    start = text[end] == '\r' && end + 1 < text.size() && text[end + 1] == '\n' ? end + 2 : end + 1;
  }
  const std::size_t offset = start + static_cast<std::size_t>(at.column) - 1;
  return offset < text.size() ? std::optional(offset) : std::nullopt;
}

// Past an anchor and an opening quote, where the place is that of the whole node.
std::size_t past_marks(std::string_view text, std::size_t at) {
  if (text[at] == '&') {
    at = text.find_first_of(" \t", at);
    if (at != std::string_view::npos) at = text.find_first_not_of(" \t", at);
  }
  if (at < text.size() && (text[at] == '"' || text[at] == '\'')) ++at;
  return at;
}

}  // namespace

std::optional<std::string> edited(std::string_view text, std::vector<Edit> edits) {
  std::sort(edits.begin(), edits.end(), [](const Edit& a, const Edit& b) { return b.at < a.at; });
  std::string out(text);
  for (const Edit& edit : edits) {
    const auto offset = offset_of(text, edit.at);
    if (!offset) return std::nullopt;
    const std::size_t at = past_marks(text, *offset);
    if (at >= text.size() || text.substr(at, edit.old.size()) != edit.old) return std::nullopt;
    out.replace(at, edit.old.size(), edit.now);
  }
  return out;
}

}  // namespace loomproof
