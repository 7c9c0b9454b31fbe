// References from one section to another.
#include <fmt/core.h>

#include <algorithm>
#include <charconv>

#include "read/expect.h"
#include "read/sections.h"
#include "units/parse.h"
#include "units/quote.h"

namespace loomproof {
namespace {

std::string terminal_key(PartIndex part, std::string_view name) {
  return fmt::format("{}.{}", part.value, name);
}

template <class Table>
std::vector<std::string_view> names_of(const Table& table) {
  std::vector<std::string_view> out;
  for (const auto& row : table) out.push_back(row.name);
  return out;
}

// `tap12` against `tap{n}`: a whole number from `least` to `most`, written without leading zeros.
bool fits_pattern(std::string_view pattern, std::string_view name, int least, double most) {
  const std::size_t hole = pattern.find("{n}");
  if (hole == std::string_view::npos) return pattern == name;
  const std::string_view before = pattern.substr(0, hole);
  const std::string_view after = pattern.substr(hole + 3);
  if (name.size() <= before.size() + after.size() || !name.starts_with(before) || !name.ends_with(after)) return false;
  const std::string_view digits = name.substr(before.size(), name.size() - before.size() - after.size());
  int n = 0;
  const auto [end, failure] = std::from_chars(digits.data(), digits.data() + digits.size(), n);
  return failure == std::errc() && end == digits.data() + digits.size() && (digits.size() == 1 || digits[0] != '0') && n >= least &&
         n <= most;
}

// What may stand behind the part's dot, for messages: `pos`, `neg`, `tap1`..`tap16`.
std::vector<std::string> terminal_words(const Kind& kind, const Part& part) {
  std::vector<std::string> out;
  const double most = part.number(kind.repeat).value_or(0);
  for (const TerminalRule& rule : kind.terminals) {
    if (rule.inside) continue;
    const std::size_t hole = rule.name.find("{n}");
    if (hole == std::string::npos) {
      out.push_back(rule.name);
    } else if (rule.on_mention) {
      for (int n = kind.repeat_from; n <= most; ++n) {
        out.push_back(rule.name.substr(0, hole) + std::to_string(n) + rule.name.substr(hole + 3));
      }
    } else if (const Scalar* names = part.find(kind.repeat)) {
      if (const auto* list = std::get_if<std::vector<std::string>>(&names->value)) {
        for (const std::string& n : *list) out.push_back(rule.name.substr(0, hole) + n + rule.name.substr(hole + 3));
      }
    }
  }
  return out;
}

}  // namespace

void Names::add_part(PartIndex part) {
  parts_.emplace(loom_.part(part).name, part);
}

void Names::add_terminal(TerminalIndex terminal) {
  const Terminal& t = loom_.terminal(terminal);
  terminals_.emplace(terminal_key(t.part, t.name), terminal);
}

void Names::add_bundle(BundleIndex bundle) {
  bundles_.emplace(loom_.bundles[bundle.value].name, bundle);
}

void Names::add_duty(DutyIndex point) {
  duty_.emplace(loom_.duty[point.value].name, point);
}

void Names::add_broken_part(std::string_view name) {
  broken_parts_.emplace(name, true);
}

bool Names::is_broken(std::string_view part) const {
  return broken_parts_.contains(std::string(part));
}

std::optional<PartIndex> Names::part(std::string_view name, Place at) {
  if (const auto found = parts_.find(std::string(name)); found != parts_.end()) return found->second;
  if (!is_broken(name)) {
    faults_.add(at, fmt::format("part {} is not known", quoted(name)),
                faults_.near(name, [&] { return names_of(loom_.parts); }));
  }
  return std::nullopt;
}

std::optional<BundleIndex> Names::bundle(View node) {
  const auto name = expect_text(node, "a bundle's name", faults_);
  if (!name) return std::nullopt;
  if (const auto found = bundles_.find(std::string(*name)); found != bundles_.end()) return found->second;
  std::string hint = faults_.near(*name, [&] { return names_of(loom_.bundles); });
  if (hint.empty()) hint = "declare it under 'bundles:'";
  faults_.add(node.at(), fmt::format("bundle {} is not known", quoted(*name)), std::move(hint));
  return std::nullopt;
}

std::optional<DutyIndex> Names::duty(View node) {
  const auto name = expect_text(node, "a duty point's name", faults_);
  if (!name) return std::nullopt;
  if (const auto found = duty_.find(std::string(*name)); found != duty_.end()) return found->second;
  faults_.add(node.at(), fmt::format("duty point {} is not known", quoted(*name)),
              faults_.near(*name, [&] { return names_of(loom_.duty); }));
  return std::nullopt;
}

std::optional<TerminalIndex> Names::terminal(View node) {
  const auto text = expect_text(node, "a terminal such as pack.pos", faults_);
  if (!text) return std::nullopt;
  const std::size_t dot = text->find('.');
  const std::string_view part_name = text->substr(0, dot);
  const auto owner = part(part_name, node.at());
  if (!owner) return std::nullopt;
  if (dot != std::string_view::npos) return mention(*owner, text->substr(dot + 1), node.at());
  const Part& p = loom_.part(*owner);
  if (loom_.kind_of(p).any_terminal) return mention(*owner, "", node.at());
  const auto words = faults_.has_hints() ? terminal_words(loom_.kind_of(p), p) : std::vector<std::string>();
  faults_.add(node.at(), fmt::format("{} does not say which terminal", quoted(*text)),
              words.empty() ? "this part has none" : fmt::format("it has {}", listed({words.begin(), words.end()})));
  return std::nullopt;
}

TerminalIndex Names::make_terminal(PartIndex part, std::string_view name, bool optional) {
  const TerminalIndex made{loom_.terminals.size()};
  loom_.terminals.push_back({std::string(name), part, optional, false});
  loom_.parts[part.value].terminals.push_back(made);
  add_terminal(made);
  return made;
}

std::optional<TerminalIndex> Names::mention(PartIndex index, std::string_view name, Place at) {
  if (const auto found = terminals_.find(terminal_key(index, name)); found != terminals_.end()) return found->second;
  const Part& p = loom_.part(index);
  const Kind& kind = loom_.kind_of(p);
  const bool printable =
      std::all_of(name.begin(), name.end(), [](char c) { return static_cast<unsigned char>(c) >= 0x20; });
  if (kind.any_terminal && printable) return make_terminal(index, name, true);
  const double most = p.number(kind.repeat).value_or(0);
  for (const TerminalRule& rule : kind.terminals) {
    if (rule.inside) {
      if (!fits_pattern(rule.name, name, kind.repeat_from, most)) continue;
      faults_.add(at, fmt::format("terminal {} lies inside {} and takes no wire", quoted(name), quoted(p.name)));
      return std::nullopt;
    }
    if (rule.on_mention && fits_pattern(rule.name, name, kind.repeat_from, most)) return make_terminal(index, name, rule.optional);
  }
  if (!faults_.has_hints()) {
    faults_.add(at, fmt::format("part {} has no terminal {}", quoted(p.name), quoted(name)));
    return std::nullopt;
  }
  const std::vector<std::string> words = terminal_words(kind, p);
  const std::vector<std::string_view> known(words.begin(), words.end());
  std::string hint = faults_.near(name, known);
  if (hint.empty()) hint = known.empty() ? "it has none" : fmt::format("it has {}", listed(known));
  faults_.add(at, fmt::format("part {} has no terminal {}", quoted(p.name), quoted(name)), std::move(hint));
  return std::nullopt;
}

std::vector<std::pair<PartIndex, int>> Names::positions(View map) {
  std::vector<std::pair<PartIndex, int>> out;
  if (!expect_map(map, "positions such as {key: off}", faults_)) return out;
  for (const Entry e : map.entries()) {
    const auto index = part(e.key.text(), e.key.at());
    if (!index) continue;
    const Part& p = loom_.part(*index);
    if (p.positions.empty()) {
      faults_.add(e.key.at(), fmt::format("part {} has no positions", quoted(p.name)), "name a switch or the like");
      continue;
    }
    const auto position = expect_word(e.value, fmt::format("a position of {}", quoted(p.name)),
                                      {p.positions.begin(), p.positions.end()}, faults_);
    if (position) out.emplace_back(*index, static_cast<int>(*position));
  }
  return out;
}

std::optional<Placed<double>> read_quantity(View node, Dimension dimension, Faults& faults) {
  const auto text = expect_text(node, expected_form(dimension), faults);
  if (!text) return std::nullopt;
  auto parsed = parse_magnitude(*text, dimension);
  if (!parsed) {
    faults.add(node.at(), std::move(parsed.error));
    return std::nullopt;
  }
  return Placed<double>{parsed.value->value, node.at(), std::move(parsed.value->written)};
}

}  // namespace loomproof
