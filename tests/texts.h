// Texts from files, and what is in them.
#pragma once

#include <fstream>
#include <iterator>
#include <string>
#include <string_view>

namespace texts {

/// Every byte; empty where there is no such file.
inline std::string of_file(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

inline bool has(std::string_view text, std::string_view part) {
  return text.find(part) != std::string_view::npos;
}

}  // namespace texts
