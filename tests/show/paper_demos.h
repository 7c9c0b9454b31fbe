// The demos, read and solved once for all tests of the papers.
#pragma once

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <memory>
#include <sstream>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "read/read.h"
#include "solve/solved.h"

namespace papers_test {

struct Demo {
  std::string name;
  loomproof::ReadResult read;
  loomproof::Solved solved;
};

inline std::string text_of(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  REQUIRE_MESSAGE(file.good(), path.string());
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

inline std::unique_ptr<Demo> solved_from(const std::string& name, const std::string& yaml) {
  auto demo = std::make_unique<Demo>();
  demo->name = name;
  demo->read = loomproof::read_loom(yaml, name);
  REQUIRE_MESSAGE(demo->read.loom.has_value(), name,
                  (demo->read.faults.empty() ? std::string() : demo->read.faults.front().what));
  demo->solved = loomproof::solve(*demo->read.loom);
  return demo;
}

/// All netlists/*.yaml, sorted by name.
inline const std::vector<std::unique_ptr<Demo>>& demos() {
  static const std::vector<std::unique_ptr<Demo>> all = [] {
    std::vector<std::filesystem::path> paths;
    for (const auto& entry : std::filesystem::directory_iterator(SOURCE_ROOT + "/netlists")) {
      if (entry.path().extension() == ".yaml") paths.push_back(entry.path());
    }
    std::sort(paths.begin(), paths.end());
    std::vector<std::unique_ptr<Demo>> out;
    for (const auto& path : paths) out.push_back(solved_from(path.stem().string(), text_of(path)));
    REQUIRE(out.size() >= 3);
    return out;
  }();
  return all;
}

/// CSV by RFC 4180, read by a reader of its own: rows of fields. A lone quote or a bare line feed is a failure.
inline std::vector<std::vector<std::string>> rows_of(const std::string& csv) {
  std::vector<std::vector<std::string>> rows(1);
  std::string field;
  std::size_t i = 0;
  while (i < csv.size()) {
    field.clear();
    if (csv[i] == '"') {
      for (++i;; ++i) {
        REQUIRE_MESSAGE(i < csv.size(), "a quoted field does not end");
        if (csv[i] != '"') {
          field += csv[i];
        } else if (i + 1 < csv.size() && csv[i + 1] == '"') {
          field += csv[++i];
        } else {
          ++i;
          break;
        }
      }
    } else {
      for (; i < csv.size() && csv[i] != ',' && csv[i] != '\r'; ++i) {
        const bool bare = csv[i] != '"' && csv[i] != '\n';
        REQUIRE_MESSAGE(bare, "a quote or a line feed stands bare in a field");
        field += csv[i];
      }
    }
    rows.back().push_back(field);
    REQUIRE_MESSAGE(i < csv.size(), "the last line has no end");
    if (csv[i] == ',') {
      ++i;
      continue;
    }
    REQUIRE(csv.substr(i, 2) == "\r\n");
    i += 2;
    if (i < csv.size()) rows.emplace_back();
  }
  return rows;
}

}  // namespace papers_test
