// Reads the data tables of tests/: `#` starts a comment line, the first other line names the columns.
#pragma once

#include <fstream>
#include <map>
#include <stdexcept>
#include <string>
#include <vector>

namespace rows {

using Row = std::map<std::string, std::string>;

inline std::string trimmed(const std::string& text) {
  const auto first = text.find_first_not_of(" \t\r");
  return first == std::string::npos ? "" : text.substr(first, text.find_last_not_of(" \t\r") - first + 1);
}

// Fields of a line; between double quotes a mark is text. `quotes` is off for tables that hold quotes as data.
inline std::vector<std::string> fields(const std::string& line, char mark, bool quotes) {
  std::vector<std::string> out(1);
  bool inside = false;
  for (const char c : line) {
    if (quotes && c == '"') {
      inside = !inside;
    } else if (c == mark && !inside) {
      out.emplace_back();
    } else {
      out.back() += c;
    }
  }
  for (std::string& field : out) field = trimmed(field);
  return out;
}

/// All rows of TESTS_DIR/`name`; throws when the file is missing, holds no row or a row of another width.
inline std::vector<Row> read(const std::string& name, char mark = ',', bool quotes = true) {
  std::ifstream file(std::string(TESTS_DIR) + "/" + name);
  std::vector<Row> out;
  std::vector<std::string> columns;
  for (std::string line; std::getline(file, line);) {
    if (trimmed(line).empty() || line[0] == '#') continue;
    const std::vector<std::string> cells = fields(line, mark, quotes);
    if (columns.empty()) {
      columns = cells;
      continue;
    }
    if (cells.size() != columns.size()) throw std::runtime_error(name + ": row of wrong width: " + line);
    Row row;
    for (std::size_t i = 0; i < cells.size(); ++i) row[columns[i]] = cells[i];
    out.push_back(row);
  }
  if (out.empty()) throw std::runtime_error(name + ": no rows");
  return out;
}

}  // namespace rows
