// Finds the quoted name in each sentence and joins the sentences that are equal without it.
#include "show/assumption_text.h"

#include <algorithm>
#include <map>

#include <fmt/format.h>

namespace loomproof {
namespace {

struct Pattern {
  std::string before, after;
  auto operator<=>(const Pattern&) const = default;
};

struct Split {
  Pattern pattern;
  std::string name;  // empty: no name in quotes
};

Split split(const std::string& text) {
  const std::size_t open = text.find('\'');
  const std::size_t close = open == std::string::npos ? open : text.find('\'', open + 1);
  if (close == std::string::npos || close == open + 1) return {{text, ""}, ""};
  return {{text.substr(0, open), text.substr(close + 1)}, text.substr(open + 1, close - open - 1)};
}

// "wires", "parts" or "bundles" when all names are such; else "cases".
std::string_view noun_for(const Loom& loom, const std::vector<std::string>& names) {
  const auto all_in = [&](const auto& things) {
    return std::all_of(names.begin(), names.end(), [&](const std::string& name) {
      return std::any_of(things.begin(), things.end(), [&](const auto& thing) { return thing.name == name; });
    });
  };
  if (all_in(loom.wires)) return "wires";
  if (all_in(loom.parts)) return "parts";
  if (all_in(loom.bundles)) return "bundles";
  return "cases";
}

std::string joined(const Loom& loom, const Pattern& pattern, const std::vector<std::string>& names) {
  if (names.size() == 1) return fmt::format("{}'{}'{}", pattern.before, names[0], pattern.after);
  // "insulation of 'T4' taken as ..." loses its "of"; any other sentence speaks of each.
  constexpr std::string_view of = " of ";
  const bool genitive = pattern.before.ends_with(of);
  const std::string core = genitive ? pattern.before.substr(0, pattern.before.size() - of.size()) + pattern.after
                                    : pattern.before + "each" + pattern.after;
  return fmt::format("{} for {} {}: {}", core, names.size(), noun_for(loom, names), fmt::join(names, ", "));
}

}  // namespace

std::vector<AssumptionLine> merged(const Loom& loom, const std::vector<Assumption>& assumptions) {
  std::vector<Pattern> order;
  std::map<Pattern, std::vector<std::string>> groups;
  for (const Assumption& assumption : assumptions) {
    const Split found = split(assumption.text);
    const auto [group, is_new] = groups.try_emplace(found.pattern);
    if (is_new) order.push_back(found.pattern);
    if (!found.name.empty() && std::find(group->second.begin(), group->second.end(), found.name) == group->second.end())
      group->second.push_back(found.name);
  }
  std::vector<AssumptionLine> lines;
  for (const Pattern& pattern : order) {
    std::vector<std::string>& names = groups[pattern];
    std::string text = names.empty() ? pattern.before : joined(loom, pattern, names);
    lines.push_back({std::move(text), std::move(names)});
  }
  return lines;
}

}  // namespace loomproof
