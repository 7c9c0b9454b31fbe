// A design under test: its file, what its marks say should be found on each line, and what the rules did find.
#pragma once

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <sstream>
#include <stdexcept>
#include <string>
#include <string_view>
#include <tuple>
#include <vector>

#include <fmt/format.h>

#include "read/read.h"
#include "rules/ledger.h"
#include "rules/list.h"
#include "solve/solved.h"

namespace loomproof::test {

inline std::string text_of_file(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  if (!in) throw std::runtime_error("cannot read " + path.string());
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

/// One thing that is marked or found: where, `broken` or `undecided`, and by which rule.
struct Mark {
  int line = 0;
  std::string verdict;
  std::string slug;
  friend auto operator<=>(const Mark&, const Mark&) = default;
};

inline std::string sentence_of(const Mark& m) {
  return fmt::format("line {}: {} {}", m.line, m.verdict, m.slug);
}

struct Marks {
  std::set<Mark> marks;
  std::map<std::string, std::string> ignored;  // slug -> reason
  std::vector<std::string> faults;             // marks that cannot be read, in sentences
};

inline std::string_view trimmed(std::string_view text) {
  const std::size_t from = text.find_first_not_of(" \t\r");
  if (from == std::string_view::npos) return {};
  return text.substr(from, text.find_last_not_of(" \t\r") - from + 1);
}

/// `#! broken a; undecided b` at the end of a line marks it; `#! ignore slug reason` on a line of its own leaves every
/// finding of that rule out. Whatever else stands after `#!` is a fault: a mistyped mark must not pass for none.
inline Marks marks_of(std::string_view text) {
  Marks out;
  int line = 0;
  while (!text.empty()) {
    ++line;
    const std::size_t end = std::min(text.find('\n'), text.size());
    const std::string_view row = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    const std::size_t at = row.find("#!");
    if (at == std::string_view::npos) continue;
    const bool alone = trimmed(row.substr(0, at)).empty();
    std::string_view rest = row.substr(at + 2);
    while (!rest.empty()) {
      const std::size_t stop = std::min(rest.find(';'), rest.size());
      std::istringstream words{std::string(rest.substr(0, stop))};
      rest.remove_prefix(std::min(stop + 1, rest.size()));
      std::string verdict, slug, more;
      words >> verdict >> slug;
      std::getline(words, more);
      const std::string reason(trimmed(more));
      const bool known = find_rule(slug) != nullptr;
      if (verdict == "ignore" && alone && known && !reason.empty()) {
        out.ignored[slug] = reason;
      } else if ((verdict == "broken" || verdict == "undecided") && !alone && known && reason.empty()) {
        out.marks.insert({line, verdict, slug});
      } else {
        out.faults.push_back(fmt::format("line {}: the mark '{} {}{}{}' cannot be read, or names no rule", line,
                                         verdict, slug, reason.empty() ? "" : " ", reason));
      }
    }
  }
  return out;
}

/// A file read, solved and judged. Not to be moved: the solution refers to the loom.
struct Design {
  std::filesystem::path path;
  std::string text;
  ReadResult read;
  Judgement judgement;

  explicit Design(std::filesystem::path file) : path(std::move(file)), text(text_of_file(path)) {
    read = read_loom(text, path.string());
    if (read.loom) judgement = judge(solve(*read.loom));
  }
  Design(const Design&) = delete;
  Design& operator=(const Design&) = delete;

  std::set<Mark> found() const {
    std::set<Mark> out;
    for (const Obligation* owed : judgement.findings()) {
      const Verdict verdict = owed->verdict.value_or(Verdict::undecided);
      out.insert({owed->subject.at.line, std::string(name_of(verdict)), std::string(owed->rule->slug)});
    }
    return out;
  }

  /// First line of every finding that a mark speaks of, so that a failure says what was found there.
  std::string words_for(const Mark& mark) const {
    std::string out;
    for (const Obligation* owed : judgement.findings()) {
      if (owed->subject.at.line == mark.line && owed->rule->slug == mark.slug) out += " (" + owed->what + ")";
    }
    return out;
  }
};

inline std::vector<std::filesystem::path> files_in(const std::filesystem::path& folder, std::string_view ending) {
  std::vector<std::filesystem::path> out;
  if (!std::filesystem::is_directory(folder)) return out;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    if (entry.path().filename().string().ends_with(ending)) out.push_back(entry.path());
  }
  std::sort(out.begin(), out.end());
  return out;
}

/// Designs of one folder: every .yaml that is not a list of figures.
inline std::vector<std::filesystem::path> designs_in(const std::filesystem::path& folder) {
  std::vector<std::filesystem::path> out = files_in(folder, ".yaml");
  std::erase_if(out, [](const auto& path) { return path.filename().string().ends_with(".ask.yaml"); });
  return out;
}

inline std::filesystem::path rules_folder() {
  return std::filesystem::path(TESTS_DIR) / "rules";
}

/// Every design of every rule, folder by folder.
inline std::vector<std::filesystem::path> all_designs() {
  std::vector<std::filesystem::path> out;
  std::vector<std::filesystem::path> folders;
  for (const auto& entry : std::filesystem::directory_iterator(rules_folder())) {
    if (entry.is_directory()) folders.push_back(entry.path());
  }
  std::sort(folders.begin(), folders.end());
  for (const auto& folder : folders) {
    const auto designs = designs_in(folder);
    out.insert(out.end(), designs.begin(), designs.end());
  }
  return out;
}

inline bool is_near_miss(const std::filesystem::path& path) {
  return path.filename().string().starts_with("near-");
}

/// `wire-heat/thin.yaml`: how a message names a design.
inline std::string short_name(const std::filesystem::path& path) {
  return path.parent_path().filename().string() + "/" + path.filename().string();
}

}  // namespace loomproof::test
