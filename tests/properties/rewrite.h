// A loom written otherwise: what stays the same for a builder must stay the same for the program.
#pragma once

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <functional>
#include <iterator>
#include <map>
#include <numeric>
#include <random>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <yaml-cpp/yaml.h>

#include "units/parse.h"

namespace rewrite {

inline std::string file_text(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

inline bool is_word(char c) {
  return std::isalnum(static_cast<unsigned char>(c)) || c == '_' || c == '-';
}

/// Runs `replace(word, before)` over every word of the text outside comments; `before` is the character before it.
template <class Replace>
std::string words_replaced(const std::string& text, const Replace& replace) {
  std::string out;
  for (std::size_t i = 0; i < text.size();) {
    if (text[i] == '#' && (i == 0 || text[i - 1] == ' ' || text[i - 1] == '\n')) {
      const std::size_t end = std::min(text.find('\n', i), text.size());
      out.append(text, i, end - i);
      i = end;
    } else if (is_word(text[i])) {
      std::size_t end = i;
      while (end < text.size() && is_word(text[end])) ++end;
      out += replace(text.substr(i, end - i), i == 0 ? '\n' : text[i - 1]);
      i = end;
    } else {
      out += text[i++];
    }
  }
  return out;
}

/// Words that mean something to the program: those of its catalogue of parts, and of every key of the format that this
/// file uses. A part or wire named like one of them keeps its name.
inline std::set<std::string> taken_words(const std::filesystem::path& root, const YAML::Node& file) {
  std::set<std::string> out;
  for (const auto& entry : std::filesystem::directory_iterator(root / "src/model/catalogue")) {
    words_replaced(file_text(entry.path()), [&](const std::string& w, char) {
      out.insert(w);
      return w;
    });
  }
  const std::function<void(const YAML::Node&)> keys = [&](const YAML::Node& node) {
    if (node.IsMap()) {
      for (const auto& entry : node) {
        out.insert(entry.first.Scalar());
        keys(entry.second);
      }
    }
    for (const auto& item : node) {
      if (node.IsSequence()) keys(item);
    }
  };
  for (const auto& section : file) {
    out.insert(section.first.Scalar());
    const std::string name = section.first.Scalar();
    for (const auto& entry : section.second) {
      if (section.second.IsMap()) keys(entry.second);
    }
    if (name == "must" || name == "conditions" || name == "vehicle") keys(section.second);
  }
  return out;
}

/// Parts, wires and bundles under new names that sort the other way round. @return the new text and old name -> new
inline std::pair<std::string, std::map<std::string, std::string>> renamed(const std::filesystem::path& root,
                                                                          const std::string& text) {
  const YAML::Node file = YAML::Load(text);
  const std::set<std::string> taken = taken_words(root, file);
  std::map<std::string, std::string> names;
  for (const char* section : {"parts", "wires", "bundles"}) {
    if (!file[section]) continue;
    for (const auto& entry : file[section]) {
      const std::string name = entry.first.Scalar();
      if (!taken.contains(name)) names.emplace(name, "");
    }
  }
  std::size_t left = names.size();
  for (auto& [old, fresh] : names) fresh = fmt::format("x{:03}", left--);
  return {words_replaced(text,
                         [&](const std::string& word, char before) {
                           const auto found = names.find(word);
                           return found == names.end() || before == '.' ? word : found->second;
                         }),
          names};
}

/// The same entries of every map in another order; own kinds stay as they are, since the first key of a primitive names
/// it.
inline std::string reordered(const std::string& text, unsigned seed) {
  std::mt19937 dice(seed);
  bool in_kinds = false;
  const std::function<void(const YAML::Node&, YAML::Emitter&)> emit = [&](const YAML::Node& node, YAML::Emitter& out) {
    if (node.IsMap()) {
      std::vector<std::pair<YAML::Node, YAML::Node>> entries;
      for (const auto& entry : node) entries.emplace_back(entry.first, entry.second);
      // Places are shuffled, not nodes: assigning a node writes into the tree that it belongs to.
      std::vector<std::size_t> order(entries.size());
      std::iota(order.begin(), order.end(), std::size_t{0});
      if (!in_kinds) std::shuffle(order.begin(), order.end(), dice);
      out << YAML::BeginMap;
      for (const std::size_t i : order) {
        out << YAML::Key << entries[i].first.Scalar() << YAML::Value;
        const bool was = std::exchange(in_kinds, in_kinds || entries[i].first.Scalar() == "kinds");
        emit(entries[i].second, out);
        in_kinds = was;
      }
      out << YAML::EndMap;
    } else if (node.IsSequence()) {
      out << YAML::BeginSeq;
      for (const auto& item : node) emit(item, out);
      out << YAML::EndSeq;
    } else {
      out << node.Scalar();
    }
  };
  YAML::Emitter out;
  emit(YAML::Load(text), out);
  return out.c_str();
}

/// Every quantity that stands alone between separators in another unit of the same dimension: metres as inches, amperes
/// as milliamperes, volts as millivolts, degC as degF, watts as milliwatts, ohms as kilo-ohms, seconds as minutes.
/// @return the new text and how many quantities were changed
inline std::pair<std::string, int> other_units(const std::string& text) {
  struct Unit {
    std::string_view from, to;
    double factor, offset;
  };
  static const std::vector<Unit> units{
      {"m", "in", 1 / 0.0254, 0},   {"cm", "in", 1 / 2.54, 0}, {"mm", "in", 1 / 25.4, 0}, {"A", "mA", 1e3, 0},
      {"V", "mV", 1e3, 0},          {"W", "mW", 1e3, 0},       {"mohm", "uohm", 1e3, 0},  {"ohm", "mohm", 1e3, 0},
      {"degC", "degF", 9. / 5, 32}, {"s", "min", 1. / 60, 0},  {"uF", "mF", 1e-3, 0},     {"kA", "A", 1e3, 0},
  };
  std::string out;
  int changed = 0;
  for (std::size_t i = 0; i < text.size();) {
    const bool starts = (std::isdigit(static_cast<unsigned char>(text[i])) || text[i] == '-') && i > 0 &&
                        (text[i - 1] == ' ' || text[i - 1] == '[');
    if (text[i] == '#') {
      const std::size_t end = std::min(text.find('\n', i), text.size());
      out.append(text, i, end - i);
      i = end;
      continue;
    }
    if (starts) {
      std::size_t end = i + 1;
      while (end < text.size() && (std::isdigit(static_cast<unsigned char>(text[end])) || text[end] == '.')) ++end;
      std::size_t unit_from = end;
      while (unit_from < text.size() && text[unit_from] == ' ') ++unit_from;
      std::size_t unit_end = unit_from;
      while (unit_end < text.size() && (is_word(text[unit_end]) || text[unit_end] == '%')) ++unit_end;
      const std::string unit = text.substr(unit_from, unit_end - unit_from);
      const auto found = std::find_if(units.begin(), units.end(), [&](const Unit& u) { return u.from == unit; });
      const std::string number = text.substr(i, end - i);
      if (found != units.end() && unit_from > end && number != "-") {
        out += fmt::format("{:.15g} {}", std::stod(number) * found->factor + found->offset, found->to);
        ++changed;
        i = unit_end;
        continue;
      }
    }
    out += text[i++];
  }
  return {out, changed};
}

}  // namespace rewrite
