// The switch states that are walked through, sorted into families.
#include "solve/switch_states.h"

#include <algorithm>
#include <map>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "solve/accessories.h"
#include "solve/deciding_parts.h"
#include "solve/situations.h"

namespace loomproof {
namespace {

// Parts whose position moves something of the network.
std::vector<std::size_t> operated_parts(const Loom& loom) {
  std::vector<std::size_t> out;
  for (std::size_t p = 0; p < loom.parts.size(); ++p) {
    if (loom.parts[p].positions.size() > 1) out.push_back(p);
  }
  return out;
}

std::vector<Positions> all_states(const Loom& loom, const std::vector<std::size_t>& operated) {
  std::vector<Positions> states;
  Positions now(loom.parts.size(), 0);
  while (true) {
    states.push_back(now);
    std::size_t i = 0;
    for (; i < operated.size(); ++i) {
      const std::size_t p = operated[i];
      if (++now[p] < static_cast<int>(loom.parts[p].positions.size())) break;
      now[p] = 0;
    }
    if (i == operated.size()) return states;
  }
}

// Rest and each duty's own switches, with every single and every pair of moves from there.
std::vector<Positions> near_states(const Loom& loom, const std::vector<std::size_t>& operated) {
  std::set<Positions> bases;
  Positions rest(loom.parts.size(), 0);
  bases.insert(rest);
  for (const DutyPoint& duty : loom.duty) {
    Positions base = rest;
    for (const auto& [part, position] : duty.with) base[part.value] = static_cast<std::int8_t>(position);
    bases.insert(base);
  }
  std::set<Positions> states = bases;
  for (const Positions& base : bases) {
    for (std::size_t i = 0; i < operated.size(); ++i) {
      for (std::size_t a = 0; a < loom.parts[operated[i]].positions.size(); ++a) {
        Positions one = base;
        one[operated[i]] = static_cast<std::int8_t>(a);
        states.insert(one);
        for (std::size_t j = 0; j < i; ++j) {
          for (std::size_t b = 0; b < loom.parts[operated[j]].positions.size(); ++b) {
            Positions two = one;
            two[operated[j]] = static_cast<std::int8_t>(b);
            states.insert(two);
          }
        }
      }
    }
  }
  return {states.begin(), states.end()};
}

// Rest, each group of accessories alone in each of its states, and what the duty points fix of them.
std::vector<AccessorySet> accessory_sets(const Loom& loom, const std::vector<std::vector<std::size_t>>& groups) {
  const Positions rest(loom.parts.size(), 0);
  std::vector<AccessorySet> out{{rest, std::nullopt}};
  for (std::size_t g = 0; g < groups.size(); ++g) {
    for (Positions& state : all_states(loom, groups[g])) {
      if (state != rest) out.push_back({std::move(state), g});
    }
  }
  for (const DutyPoint& duty : loom.duty) {
    Positions fixed = rest;
    for (const auto& [part, position] : duty.with) {
      for (const auto& group : groups) {
        if (std::find(group.begin(), group.end(), part.value) != group.end())
          fixed[part.value] = static_cast<std::int8_t>(position);
      }
    }
    if (std::none_of(out.begin(), out.end(), [&](const AccessorySet& s) { return s.positions == fixed; }))
      out.push_back({std::move(fixed), std::nullopt});
  }
  return out;
}

// Every state of what decides, with the accessories by themselves; nothing where that is too many states as well.
std::optional<SwitchStates> split_states(const Circuit& circuit) {
  const Loom& loom = *circuit.loom;
  Accessories parted = accessories_of(circuit);
  std::size_t alone = 1;
  for (const auto& group : parted.groups) {
    alone += count_states(loom, group);
    if (alone > most_switch_states) return std::nullopt;
  }
  if (parted.groups.empty() || count_states(loom, parted.deciding) * alone > most_split_states / 2) return std::nullopt;
  SwitchStates out;
  out.accessories = std::move(parted.groups);
  for (const Coil& c : loom.elements.coils) out.follows.push_back(parted.relays[c.part.value]);
  out.sets = accessory_sets(loom, out.accessories);
  std::vector<Positions> keys = all_states(loom, parted.deciding);
  std::sort(keys.begin(), keys.end());
  for (Positions& key : keys) out.families.push_back({std::move(key), {}});
  out.deciding = std::move(parted.deciding);
  std::vector<Positions> sets;
  for (const AccessorySet& set : out.sets) sets.push_back(set.positions);
  if (!add_sets(out, sets)) return std::nullopt;
  return out;
}

}  // namespace

bool add_sets(SwitchStates& states, const std::vector<Positions>& sets) {
  std::set<Positions> had;
  const auto of = [&](Positions key, const Positions& set) {
    for (const auto& group : states.accessories) {
      for (std::size_t p : group) key[p] = set[p];
    }
    return key;
  };
  const Family& first = states.families.front();
  had.insert(first.members.begin(), first.members.end());
  std::vector<const Positions*> fresh;
  for (const Positions& set : sets) {
    if (had.insert(of(first.key, set)).second) fresh.push_back(&set);
  }
  if (states.walked + fresh.size() * states.families.size() > most_split_states) return false;
  for (Family& family : states.families) {
    for (const Positions* set : fresh) family.members.push_back(of(family.key, *set));
  }
  states.walked += fresh.size() * states.families.size();
  return true;
}

std::size_t count_states(const Loom& loom, const std::vector<std::size_t>& parts) {
  std::size_t n = 1;
  for (std::size_t p : parts) {
    n *= loom.parts[p].positions.size();
    if (n > (std::size_t{1} << 40)) return n;  // enough to know that it is too many
  }
  return n;
}

SwitchStates switch_states(const Circuit& circuit, std::size_t most) {
  const Loom& loom = *circuit.loom;
  const std::vector<std::size_t> operated = operated_parts(loom);
  const std::size_t possible = count_states(loom, operated);
  const bool exhaustive = possible <= most;
  if (!exhaustive) {
    if (auto split = split_states(circuit)) {
      split->possible = possible;
      return std::move(*split);
    }
  }
  SwitchStates out;
  out.possible = possible;
  std::vector<Positions> walked = exhaustive ? all_states(loom, operated) : near_states(loom, operated);
  out.walked = walked.size();
  if (!exhaustive) {
    out.left_out = fmt::format(
        "{} switches make {} switch states, more than {}; walked: rest, the duty points' own switches, and one or two "
        "moves from these",
        operated.size(), out.possible, most);
  }
  const std::vector<char> decides = deciding_parts(circuit);
  for (std::size_t p : operated) {
    if (decides[p] != 0) out.deciding.push_back(p);
  }
  std::map<Positions, std::vector<Positions>> by_key;
  for (Positions& state : walked) {
    Positions key = state;
    for (std::size_t p : operated) {
      if (decides[p] == 0) key[p] = 0;
    }
    by_key[std::move(key)].push_back(std::move(state));
  }
  for (auto& [key, members] : by_key) out.families.push_back({key, std::move(members)});
  return out;
}

const Family* find_family(const SwitchStates& states, const Positions& key) {
  const auto found = std::lower_bound(states.families.begin(), states.families.end(), key,
                                      [](const Family& f, const Positions& k) { return f.key < k; });
  return found != states.families.end() && found->key == key ? &*found : nullptr;
}

}  // namespace loomproof
