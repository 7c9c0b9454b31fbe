// Truth tables beside the circuits: what each switch state, move and fault is to give, as data.
//
//   source: ...                                where the answers come from
//   table: key stop | main                     switches, then what is looked at; rows until `end`
//   rest: key=on -> main=off                   from rest with these switches moved
//   then: start=released -> main=on            from where the line before left it; unnamed switches are at rest
//   with 'W3' open rest: ... -> ...            the same with one fault in (its name as the program gives it)
//   remembers: K                               coils that were found on and off in one situation; none without the line
//   holds: SLUG SUBJECT, finds: VERDICT SLUG SUBJECT   of the rules; every finding of the group `control` is listed
//
// An answer is part=on/off of its coil, part.input or part.output=on/off, lamp=lit/glows/dark, a.x,b.y=5V/1%, or the
// word `chatters`.
#pragma once

#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

namespace loomproof::test {

struct TruthStep {
  int line = 0;
  std::string fault;  // empty: none
  bool from_rest = true;
  std::vector<std::pair<std::string, std::string>> set;
  std::vector<std::string> expect;
};

struct Truth {
  bool has_source = false;
  std::vector<TruthStep> steps;
  std::vector<std::string> remembers, holds, finds, faults;  // faults: lines that cannot be read
};

inline std::vector<std::string> words_of(const std::string& text) {
  std::istringstream in(text);
  std::vector<std::string> out;
  for (std::string word; in >> word;) out.push_back(word);
  return out;
}

inline std::pair<std::string, std::string> halves(const std::string& text, const std::string& mark) {
  const std::size_t at = text.find(mark);
  return at == std::string::npos ? std::pair(text, std::string())
                                 : std::pair(text.substr(0, at), text.substr(at + mark.size()));
}

inline Truth truth_of(const std::filesystem::path& path) {
  Truth out;
  std::ifstream in(path);
  std::vector<std::string> switches, looked;
  bool table = false;
  int number = 0;
  for (std::string line; std::getline(in, line);) {
    ++number;
    if (words_of(line).empty() || line[0] == '#') continue;
    if (table) {
      if (line == "end") {
        table = false;
        continue;
      }
      const auto [left, right] = halves(line, "|");
      const auto at = words_of(left), is = words_of(right);
      if (at.size() != switches.size() || is.size() != looked.size()) {
        out.faults.push_back(path.filename().string() + ": " + line);
        continue;
      }
      TruthStep step{number, {}, true, {}, {}};
      for (std::size_t i = 0; i < at.size(); ++i) step.set.emplace_back(switches[i], at[i]);
      for (std::size_t i = 0; i < is.size(); ++i) step.expect.push_back(looked[i] + "=" + is[i]);
      out.steps.push_back(step);
      continue;
    }
    const auto is = [&](const char* key) { return line.starts_with(key); };
    if (is("source: ")) {
      out.has_source = true;
    } else if (is("table: ")) {
      const auto [left, right] = halves(line.substr(7), "|");
      switches = words_of(left);
      looked = words_of(right);
      table = true;
    } else if (is("remembers: ")) {
      out.remembers = words_of(line.substr(11));
    } else if (is("holds: ")) {
      out.holds.push_back(line.substr(7));
    } else if (is("finds: ")) {
      out.finds.push_back(line.substr(7));
    } else {
      const std::size_t rest = line.find("rest:"), then = line.find("then:");
      const std::size_t at = std::min(rest, then);
      if (at == std::string::npos || line.find("->") == std::string::npos) {
        out.faults.push_back(path.filename().string() + ": " + line);
        continue;
      }
      TruthStep step{number, {}, rest < then, {}, {}};
      if (at > 6) step.fault = line.substr(5, at - 6);
      const auto [left, right] = halves(line.substr(at + 5), "->");
      for (const std::string& word : words_of(left)) step.set.push_back(halves(word, "="));
      step.expect = words_of(right);
      out.steps.push_back(step);
    }
  }
  return out;
}

}  // namespace loomproof::test
