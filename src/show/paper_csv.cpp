// A paper as CSV by RFC 4180, with nothing in it that a spreadsheet would run.
#include <algorithm>
#include <charconv>

#include "show/paper.h"

namespace loomproof {
namespace {

bool is_plain_number(std::string_view text) {
  if (text.starts_with('+')) text.remove_prefix(1);
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  // "-inf" and "-nan" are words to a spreadsheet, and words after a minus are a formula.
  const bool digits =
      std::all_of(text.begin(), text.end(), [](char c) { return (c >= '0' && c <= '9') || c == '.' || c == '-'; });
  return error == std::errc() && end == text.data() + text.size() && digits;
}

std::string field(std::string_view text) {
  std::string safe(text);
  constexpr std::string_view runs = "=+-@\t\r";
  if (!safe.empty() && runs.find(safe.front()) != std::string_view::npos && !is_plain_number(safe)) {
    safe.insert(safe.begin(), '\'');
  }
  if (safe.find_first_of(",\"\r\n") == std::string::npos) return safe;
  std::string quoted = "\"";
  for (const char c : safe) {
    if (c == '"') quoted += '"';
    quoted += c;
  }
  return quoted + '"';
}

void add_line(std::string& out, const std::vector<std::string_view>& fields) {
  for (std::size_t i = 0; i < fields.size(); ++i) {
    if (i > 0) out += ',';
    out += field(fields[i]);
  }
  out += "\r\n";
}

}  // namespace

std::string paper_csv(const Paper& paper) {
  const bool headed = std::any_of(paper.sections.begin(), paper.sections.end(),
                                  [](const PaperSection& s) { return !s.heading.empty(); });
  std::string out;
  std::vector<std::string_view> fields;
  if (headed) fields.emplace_back("section");
  for (const PaperColumn& column : paper.columns) fields.push_back(column.title);
  add_line(out, fields);
  for (const PaperSection& section : paper.sections) {
    for (const auto& row : section.rows) {
      fields.clear();
      if (headed) fields.push_back(section.heading);
      fields.insert(fields.end(), row.begin(), row.end());
      add_line(out, fields);
    }
  }
  return out;
}

}  // namespace loomproof
