// `parts:` and `kinds:`: kinds come from the user's file or, only those in use, from the catalogue.
#include <fmt/core.h>

#include <algorithm>

#include "read/attribute_reader.h"
#include "read/catalogue_tree.h"
#include "read/expect.h"
#include "read/kind_reader.h"
#include "read/sections.h"
#include "units/quote.h"

namespace loomproof {
namespace {

// More terminals than this in one file can only come from repeats that multiply.
constexpr std::size_t most_terminals = 100'000;

const Kind* find_kind(View is, Loom& loom, Faults& faults) {
  const auto name = expect_text(is, "the name of a kind", faults);
  if (!name) return nullptr;
  if (const auto found = loom.kinds.find(*name); found != loom.kinds.end()) return &found->second;
  const auto tree = find_catalogue_tree(*name);
  if (!tree) {
    std::vector<std::string_view> known = catalogue_names();
    for (const auto& [own, kind] : loom.kinds) {
      if (kind.own) known.push_back(own);
    }
    const std::string near = faults.near(*name, known);
    const std::string hint = fmt::format(
        "{}`loomproof schema --format markdown` lists the kinds (docs/format.md); one of your own stands under "
        "'kinds:'",
        near.empty() ? "" : near + " ");
    faults.add(is.at(), fmt::format("kind {} is not known", quoted(*name)), hint);
    return nullptr;
  }
  // Entries of the catalogue are proved by the tests, so here they are only read.
  Faults unsound;
  Kind kind = read_kind_tree(*tree, "", {}, unsound);
  if (!unsound.empty()) {
    const ReadFault first = std::move(unsound).sorted(1).front();
    faults.add(is.at(),
               fmt::format("the catalogue's kind {} cannot be read: {}:{}: {}", quoted(*name), first.at.line,
                           first.at.column, first.what),
               "this is a fault of loomproof");
    return nullptr;
  }
  for (PrimitiveRule& rule : kind.inside) rule.at = {};
  return &loom.kinds.emplace(std::string(*name), std::move(kind)).first->second;
}

void add_terminals(PartIndex index, const Kind& kind, Loom& loom, Names& names) {
  const auto add = [&](const std::string& name, const TerminalRule& rule) {
    const TerminalIndex made{loom.terminals.size()};
    loom.terminals.push_back({name, index, rule.optional, false});
    loom.parts[index.value].terminals.push_back(made);
    names.add_terminal(made);
  };
  for (const TerminalRule& rule : kind.terminals) {
    // Terminals inside a part are made when its primitives are.
    if (rule.on_mention || rule.inside) continue;
    const std::size_t hole = rule.name.find("{n}");
    if (hole == std::string::npos) {
      add(rule.name, rule);
      continue;
    }
    const auto filled = [&](const std::string& n) {
      return rule.name.substr(0, hole) + n + rule.name.substr(hole + 3);
    };
    const Scalar* repeat = loom.part(index).find(kind.repeat);
    if (!repeat) continue;
    if (const auto* list = std::get_if<std::vector<std::string>>(&repeat->value)) {
      const std::vector<std::string> copy = *list;
      for (const std::string& n : copy) add(filled(n), rule);
    } else if (const auto* count = std::get_if<Magnitude>(&repeat->value)) {
      const int most = static_cast<int>(std::min(count->value, 1000.0));
      for (int n = kind.repeat_from; n <= most; ++n) add(filled(std::to_string(n)), rule);
    }
  }
}

}  // namespace

void read_own_kinds(View section, Loom& loom, Faults& faults) {
  if (!expect_map(section, "kinds by name", faults, true)) return;
  for (const Entry e : section.entries()) {
    if (!check_name(e.key, "a kind", faults)) continue;
    const std::string_view name = e.key.text();
    if (find_catalogue_tree(name)) {
      faults.add(e.key.at(), fmt::format("kind {} is already in the catalogue", quoted(name)), "give it another name");
      continue;
    }
    Kind kind = read_kind_tree(e.value, name, e.key.at(), faults);
    if (e.value.is_map()) check_kind(kind, faults);
    loom.kinds.insert_or_assign(std::string(name), std::move(kind));
  }
}

void read_parts(View section, Loom& loom, Names& names, Faults& faults) {
  if (!expect_map(section, "parts by name", faults)) return;
  if (section.entries().empty()) faults.add(section.at(), "there are no parts");
  for (const Entry e : section.entries()) {
    const std::string_view name = e.key.text();
    if (!check_name(e.key, "a part", faults)) {
      names.add_broken_part(name.substr(0, name.find('.')));
      continue;
    }
    if (const std::size_t dot = name.find('.'); dot != std::string_view::npos) {
      faults.add(e.key.at(), fmt::format("name {} of a part holds a point", quoted(name)),
                 "the point parts part and terminal: use '-' or '_'");
      names.add_broken_part(name.substr(0, dot));
      continue;
    }
    if (!expect_map(e.value, "a part such as {is: fuse, rated: 150 A}", faults)) {
      names.add_broken_part(name);
      continue;
    }
    const auto is = e.value.find("is");
    if (!is) {
      faults.add(e.key.at(), fmt::format("part {} does not say its kind", quoted(name)),
                 "write is: and a kind, such as is: fuse");
      names.add_broken_part(name);
      continue;
    }
    const Kind* kind = find_kind(*is, loom, faults);
    if (!kind) {
      names.add_broken_part(name);
      continue;
    }
    const PartIndex index{loom.parts.size()};
    Part& part = loom.parts.emplace_back();
    part.name = name;
    part.kind = kind->name;
    part.at = e.key.at();
    read_attributes(e.value, *kind, part, faults);
    names.add_part(index);
    add_terminals(index, *kind, loom, names);
    if (loom.terminals.size() > most_terminals) {
      faults.add(e.key.at(), fmt::format("the parts have more than {} terminals", most_terminals));
      return;
    }
  }
}

}  // namespace loomproof
