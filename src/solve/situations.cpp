// Which situations there are, and every one of them settled.
#include "solve/situations.h"

#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "solve/network.h"

namespace loomproof {
namespace {

using Positions = std::vector<std::int8_t>;

// Parts whose position moves something of the network.
std::vector<std::size_t> operated_parts(const Loom& loom) {
  std::vector<std::size_t> out;
  for (std::size_t p = 0; p < loom.parts.size(); ++p) {
    if (loom.parts[p].positions.size() > 1) out.push_back(p);
  }
  return out;
}

std::size_t count_states(const Loom& loom, const std::vector<std::size_t>& operated) {
  std::size_t n = 1;
  for (std::size_t p : operated) {
    n *= loom.parts[p].positions.size();
    if (n > (std::size_t{1} << 40)) return n;  // enough to know that it is too many
  }
  return n;
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

bool allows(const DutyPoint& duty, const Positions& positions) {
  return std::all_of(duty.with.begin(), duty.with.end(),
                     [&](const auto& fixed) { return positions[fixed.first.value] == fixed.second; });
}

}  // namespace

Situations settle_all(const Circuit& circuit) {
  const Loom& loom = *circuit.loom;
  const std::vector<std::size_t> operated = operated_parts(loom);
  Situations out;
  const std::size_t states = count_states(loom, operated);
  const bool exhaustive = states <= most_switch_states;
  const std::vector<Positions> walked = exhaustive ? all_states(loom, operated) : near_states(loom, operated);
  out.possible = states * 2;
  out.covered = walked.size() * 2;
  if (!exhaustive) {
    out.left_out = fmt::format(
        "{} switches make {} switch states, more than {}; walked: rest, the duty points' own switches, and one or two "
        "moves from these",
        operated.size(), states, most_switch_states);
  }
  out.duty_reached.assign(loom.duty.size(), false);
  Network network(circuit);
  std::vector<DutyIndex> duties;
  for (const Positions& positions : walked) {
    duties.clear();
    for (std::size_t d = 0; d < loom.duty.size(); ++d) {
      if (allows(loom.duty[d], positions)) duties.push_back(DutyIndex{d});
    }
    for (Charge charge : {Charge::full, Charge::empty}) {
      for (OperatingPoint& point : network.settle_with({positions, charge, std::nullopt}, duties)) {
        if (point.situation.duty) out.duty_reached[point.situation.duty->value] = true;
        (point.trouble.empty() ? out.points : out.troubled).push_back(std::move(point));
      }
    }
  }
  return out;
}

}  // namespace loomproof
