// Marks in a design: a trailing comment `#! broken <slug>` or `#! undecided <slug>`, several separated by `;`, stands
// on the line at which the finding must point. What is not marked must not be found.
#pragma once

#include <algorithm>
#include <compare>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include <fmt/format.h>

#include "read/read.h"
#include "rules/ledger.h"
#include "rules/list.h"
#include "solve/solved.h"

namespace loomproof::marks {

/// One finding that a line asks for, or that a check gave: the file's line, `broken` or `undecided`, the rule's slug.
struct Mark {
  std::size_t line = 0;
  std::string verdict;
  std::string slug;
  auto operator<=>(const Mark&) const = default;
};

inline std::string slurp(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

inline std::vector<std::string> words_of(std::string_view text, char between) {
  std::vector<std::string> out;
  while (true) {
    const std::size_t end = std::min(text.find(between), text.size());
    const std::string_view word = text.substr(0, end);
    const std::size_t first = word.find_first_not_of(" \t\r");
    if (first != std::string_view::npos) {
      out.emplace_back(word.substr(first, word.find_last_not_of(" \t\r") + 1 - first));
    }
    if (end == text.size()) return out;
    text.remove_prefix(end + 1);
  }
}

/// The marks of a file's text. A mark that is misspelt comes back with the whole of it as verdict, so that no finding
/// can ever match it.
inline std::set<Mark> marks_of(std::string_view text) {
  std::set<Mark> out;
  for (std::size_t line = 1; !text.empty(); ++line) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    const std::string_view row = text.substr(0, end);
    const std::size_t at = row.find("#!");
    if (at != std::string_view::npos) {
      for (const std::string& wanted : words_of(row.substr(at + 2), ';')) {
        const std::vector<std::string> parts = words_of(wanted, ' ');
        const bool sound =
            parts.size() == 2 && (parts[0] == "broken" || parts[0] == "undecided") && find_rule(parts[1]) != nullptr;
        out.insert(sound ? Mark{line, parts[0], parts[1]} : Mark{line, "misspelt: " + wanted, ""});
      }
    }
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return out;
}

/// The findings of a judgement; several of one rule on one line count once.
inline std::set<Mark> found_in(const Judgement& judgement) {
  std::set<Mark> out;
  for (const Obligation* owed : judgement.findings()) {
    out.insert({static_cast<std::size_t>(owed->subject.at.line),
                std::string(name_of(owed->verdict.value_or(Verdict::undecided))), std::string(owed->rule->slug)});
  }
  return out;
}

/// Both differences, a line each; empty when marks and findings agree.
inline std::string differences(const std::set<Mark>& wanted, const std::set<Mark>& found) {
  std::string out;
  for (const Mark& mark : wanted) {
    if (!found.contains(mark)) out += fmt::format("\n  {}: not found: {} {}", mark.line, mark.verdict, mark.slug);
  }
  for (const Mark& mark : found) {
    if (!wanted.contains(mark)) out += fmt::format("\n  {}: not marked: {} {}", mark.line, mark.verdict, mark.slug);
  }
  return out;
}

/// A design with all that a check of it gave; without a judgement when it cannot be read, and `faults` then says why.
struct Checked {
  std::string name;
  std::string text;
  ReadResult read;
  std::optional<Judgement> judgement;
  std::string faults;
};

inline Checked check(const std::filesystem::path& path) {
  Checked out{path.filename().string(), slurp(path), {}, {}, {}};
  out.read = read_loom(out.text, out.name);
  for (const ReadFault& fault : out.read.faults) {
    out.faults += fmt::format("\n  {}:{}: {}", fault.at.line, fault.at.column, fault.what);
  }
  if (out.read.loom) out.judgement = judge(solve(*out.read.loom));
  return out;
}

/// The designs of a folder, in order of name; `.ask.yaml` files hold figures and are no designs.
inline std::vector<std::filesystem::path> designs_in(const std::filesystem::path& folder) {
  std::vector<std::filesystem::path> out;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    const std::string name = entry.path().filename().string();
    if (name.ends_with(".yaml") && !name.ends_with(".ask.yaml")) out.push_back(entry.path());
  }
  std::sort(out.begin(), out.end());
  return out;
}

}  // namespace loomproof::marks
