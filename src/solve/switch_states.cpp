// The switch states that are walked through, sorted into families.
#include "solve/switch_states.h"

#include <algorithm>
#include <map>
#include <set>
#include <utility>

#include <fmt/format.h>

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

}  // namespace

std::size_t count_states(const Loom& loom, const std::vector<std::size_t>& parts) {
  std::size_t n = 1;
  for (std::size_t p : parts) {
    n *= loom.parts[p].positions.size();
    if (n > (std::size_t{1} << 40)) return n;  // enough to know that it is too many
  }
  return n;
}

SwitchStates switch_states(const Circuit& circuit) {
  const Loom& loom = *circuit.loom;
  const std::vector<std::size_t> operated = operated_parts(loom);
  SwitchStates out;
  out.possible = count_states(loom, operated);
  const bool exhaustive = out.possible <= most_switch_states;
  std::vector<Positions> walked = exhaustive ? all_states(loom, operated) : near_states(loom, operated);
  out.walked = walked.size();
  if (!exhaustive) {
    out.left_out = fmt::format(
        "{} switches make {} switch states, more than {}; walked: rest, the duty points' own switches, and one or two "
        "moves from these",
        operated.size(), out.possible, most_switch_states);
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
