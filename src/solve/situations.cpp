// Which situations there are, and every one of them settled.
#include "solve/situations.h"

#include <algorithm>
#include <array>
#include <deque>
#include <optional>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "solve/accessory_sums.h"
#include "solve/beside.h"
#include "solve/network.h"
#include "solve/switch_states.h"
#include "solve/usable_cores.h"

namespace loomproof {
namespace {

constexpr std::array charges{Charge::full, Charge::empty};
constexpr std::size_t most_histories = 64;  // of one family; more than any loom that means something by them

const SettlingTrail nothing_known;

bool allows(const DutyPoint& duty, const Positions& positions) {
  return std::all_of(duty.with.begin(), duty.with.end(),
                     [&](const auto& fixed) { return positions[fixed.first.value] == fixed.second; });
}

struct Settled {
  std::vector<OperatingPoint> points, troubled;
};

// A family with one pack charge. What it can remember: every state of the logic in which one of its members was found.
struct Walk {
  const Family* family = nullptr;
  const SwitchStates* states = nullptr;
  Charge charge = Charge::full;
  Settled settled;
  SettlingTrail trail;                          // of its first member, from rest
  std::vector<OperatingPoint> kinds;            // one point of every state
  std::vector<std::vector<std::size_t>> found;  // by member: its points, one of each state, without duty
};

bool knows(const Walk& walk, std::size_t member, const LogicState& state) {
  const std::vector<std::size_t>& found = walk.found[member];
  return std::any_of(found.begin(), found.end(),
                     [&](std::size_t p) { return remembers_same(walk.settled.points[p].logic, state); });
}

// Whether a state is another's but for coils that follow a switch, which differ from member to member.
bool is_kind(const SwitchStates& states, const LogicState& a, LogicState b) {
  for (std::size_t c = 0; c < states.follows.size(); ++c) {
    if (states.follows[c] != 0) b.coil_on[c] = a.coil_on[c];
  }
  return remembers_same(a, b);
}

// Keeps a point with its duty points, and what it says about the family; false when it was known already.
bool keep(Network& network, const Loom& loom, Walk& walk, std::size_t member, OperatingPoint base) {
  if (!base.trouble.empty()) {
    auto& troubled = walk.settled.troubled;
    const bool told = std::any_of(troubled.begin(), troubled.end(), [&](const OperatingPoint& p) {
      return !p.situation.duty && p.situation.positions == base.situation.positions && p.trouble == base.trouble;
    });
    if (!told) troubled.push_back(std::move(base));
    return false;
  }
  if (knows(walk, member, base.logic)) return false;
  if (std::none_of(walk.kinds.begin(), walk.kinds.end(),
                   [&](const OperatingPoint& k) { return is_kind(*walk.states, k.logic, base.logic); }))
    walk.kinds.push_back(base);
  const std::size_t at = walk.settled.points.size();
  walk.found[member].push_back(at);
  walk.settled.points.push_back(std::move(base));
  for (std::size_t d = 0; d < loom.duty.size(); ++d) {
    const OperatingPoint& own = walk.settled.points[at];
    if (!allows(loom.duty[d], own.situation.positions)) continue;
    auto loaded = network.add_duty(own, DutyIndex{d});
    if (!loaded) continue;
    (loaded->trouble.empty() ? walk.settled.points : walk.settled.troubled).push_back(std::move(*loaded));
  }
  return true;
}

// An input between its two thresholds may read either way, and the worse counts: both are kept.
void keep_both_readings(Network& network, const Loom& loom, Walk& walk, std::size_t member, std::size_t at) {
  const std::vector<std::size_t> undefined = network.undefined_inputs(walk.settled.points[at]);
  for (std::size_t input : undefined) {
    OperatingPoint other = walk.settled.points[at];
    other.logic.input_on[input] ^= 1;
    const std::size_t next = walk.settled.points.size();
    if (!keep(network, loom, walk, member, network.settle_from(other, other.situation))) continue;
    if (walk.found[member].size() < most_histories) keep_both_readings(network, loom, walk, member, next);
  }
}

void keep_all(Network& network, const Loom& loom, Walk& walk, std::size_t member, OperatingPoint base) {
  const std::size_t at = walk.settled.points.size();
  if (keep(network, loom, walk, member, std::move(base))) keep_both_readings(network, loom, walk, member, at);
}

// Every new member from rest. The full pack's steps are the first guesses for the empty one's, the first member's for
// the others.
void walk_from_rest(Network& network, const Loom& loom, Walk& full, Walk& empty) {
  std::size_t m = full.found.size();
  full.found.resize(full.family->members.size());
  empty.found.resize(full.family->members.size());
  SettlingTrail steps;
  for (; m < full.family->members.size(); ++m) {
    Situation situation{full.family->members[m], Charge::full, std::nullopt};
    keep_all(network, loom, full, m, network.settle_base(situation, m == 0 ? nullptr : &full.trail, &steps));
    situation.charge = Charge::empty;
    keep_all(network, loom, empty, m, network.settle_base(situation, &steps, m == 0 ? &empty.trail : nullptr));
    if (m == 0) full.trail = steps;
  }
}

// Coils that follow a switch as they are where each group is switched alone, at best: what was pulled in then may hold
// beside all the others.
void pull_in(const Walk& walk, std::size_t member, LogicState& logic) {
  const SwitchStates& states = *walk.states;
  const Positions& at = walk.family->members[member];
  for (std::size_t s = 0; s < states.pulled_in.size(); ++s) {
    if (!states.sets[s].group) continue;
    const auto& group = states.accessories[*states.sets[s].group];
    if (!std::all_of(group.begin(), group.end(), [&](std::size_t p) { return at[p] == states.sets[s].positions[p]; }))
      continue;
    for (std::size_t c = 0; c < states.follows.size(); ++c) {
      if (states.follows[c] != 0) logic.coil_on[c] |= states.pulled_in[s][c];
    }
  }
}

// A state in which one member was found is tried on all: a coil that a neighbour's state holds need not pull in from
// rest, nor the other way round.
void share_within(Network& network, const Loom& loom, Walk& walk) {
  for (std::size_t k = 0; k < walk.kinds.size() && k < most_histories; ++k) {
    for (std::size_t m = 0; m < walk.found.size(); ++m) {
      const OperatingPoint before = walk.kinds[k];
      LogicState logic = before.logic;
      pull_in(walk, m, logic);
      if (knows(walk, m, logic)) continue;
      const Situation situation{walk.family->members[m], walk.charge, std::nullopt};
      keep_all(network, loom, walk, m,
               logic == before.logic ? network.settle_from(before, situation)
                                     : network.settle_with(logic.coil_on, before, situation));
    }
  }
}

// Each thread with a network of its own, as long as there is enough for it to do.
template <class Work>
void share_networks(const Circuit& circuit, std::size_t count, std::size_t least_each, const Work& work) {
  share_out(count, std::min<std::size_t>(usable_cores(), count / least_each + 1),
            [&] { return [&work, network = Network(circuit)](std::size_t i) mutable { work(network, i); }; });
}

// Walks of one charge, by family.
using Walks = std::vector<Walk>;

// From every state that was found, breadth first, by single moves of the switches that decide something: what a
// circuit remembers shows as a state that its situation does not reach from rest.
void explore_moves(Network& network, const Loom& loom, const SwitchStates& states, Walks& walks) {
  std::deque<std::pair<std::size_t, std::size_t>> queue;  // walk, kind
  std::vector<std::size_t> queued(walks.size(), 0);
  const auto enqueue = [&](std::size_t w) {
    for (; queued[w] < std::min(walks[w].kinds.size(), most_histories); ++queued[w]) queue.emplace_back(w, queued[w]);
  };
  for (std::size_t w = 0; w < walks.size(); ++w) enqueue(w);
  while (!queue.empty()) {
    const auto [w, k] = queue.front();
    queue.pop_front();
    const OperatingPoint from = walks[w].kinds[k];
    for (std::size_t part : states.deciding) {
      for (std::size_t position = 0; position < loom.parts[part].positions.size(); ++position) {
        if (from.situation.positions[part] == static_cast<std::int8_t>(position)) continue;
        Positions key = walks[w].family->key;
        key[part] = static_cast<std::int8_t>(position);
        const Family* family = find_family(states, key);
        if (family == nullptr) continue;
        Positions to = from.situation.positions;
        to[part] = static_cast<std::int8_t>(position);
        const auto member = std::find(family->members.begin(), family->members.end(), to);
        if (member == family->members.end()) continue;
        const auto target = static_cast<std::size_t>(family - states.families.data());
        Walk& walk = walks[target];
        const auto m = static_cast<std::size_t>(member - family->members.begin());
        auto moved =
            network.settle_after(from, {std::move(to), walk.charge, std::nullopt}, m == 0 ? walk.trail : nothing_known);
        if (!moved) continue;
        keep_all(network, loom, walk, m, std::move(*moved));
        share_within(network, loom, walk);
        enqueue(target);
      }
    }
  }
}

// What the vehicle remembers from a full pack it still does when the pack is empty, and the other way round.
bool carry_over(std::optional<Network>& network, const Circuit& circuit, const Walk& from, Walk& to) {
  bool any = false;
  for (std::size_t k = 0; k < from.kinds.size(); ++k) {
    const auto& members = from.family->members;
    const auto at = std::find(members.begin(), members.end(), from.kinds[k].situation.positions) - members.begin();
    const auto m = static_cast<std::size_t>(at);
    if (knows(to, m, from.kinds[k].logic)) continue;
    const std::size_t before = to.kinds.size();
    if (!network) network.emplace(circuit);
    auto moved =
        network->settle_after(from.kinds[k], {members[m], to.charge, std::nullopt}, m == 0 ? to.trail : nothing_known);
    if (moved) keep_all(*network, *circuit.loom, to, m, std::move(*moved));
    share_within(*network, *circuit.loom, to);
    any |= to.kinds.size() != before;
  }
  return any;
}

void walk_families(const Circuit& circuit, std::array<Walks, 2>& walks) {
  share_networks(circuit, walks[0].size(), 8, [&](Network& network, std::size_t f) {
    walk_from_rest(network, *circuit.loom, walks[0][f], walks[1][f]);
    for (Walks& of_charge : walks) share_within(network, *circuit.loom, of_charge[f]);
  });
}

// What the accessories do together, from what each of their groups does alone.
void add_sums(const Circuit& circuit, const std::array<Walks, 2>& walks, SwitchStates& states) {
  std::vector<std::vector<const OperatingPoint*>> all;
  for (const Walks& of_charge : walks) {
    for (const Walk& walk : of_charge) {
      std::vector<const OperatingPoint*>& alone = all.emplace_back();
      for (std::size_t s = 0; s < states.sets.size(); ++s)
        alone.push_back(walk.found[s].empty() ? nullptr : &walk.settled.points[walk.found[s].front()]);
    }
  }
  Heaviest heaviest{states.sets.front().positions, 0};
  std::set<Positions> sums;
  states.pulled_in.assign(states.sets.size(), std::vector<std::uint8_t>(states.follows.size(), 0));
  for (const auto& alone : all) {
    for (std::size_t s = 0; s < alone.size(); ++s) {
      for (std::size_t c = 0; c < states.follows.size() && alone[s] != nullptr; ++c)
        states.pulled_in[s][c] |= alone[s]->logic.coil_on[c];
    }
    Heaviest here = heaviest_of(states, alone);
    if (here.amps > heaviest.amps) heaviest = std::move(here);
    sums.merge(sums_of(circuit, states, alone));
  }
  if (add_sets(states, beside_heaviest(states, heaviest.set)) && add_sets(states, {sums.begin(), sums.end()})) {
    return;
  }
  states.left_out = fmt::format("accessories together make more states than the {} that are walked", most_split_states);
}

std::array<Walks, 2> walk_all(const Circuit& circuit, SwitchStates& states) {
  const Loom& loom = *circuit.loom;
  std::array<Walks, 2> walks;
  for (std::size_t c = 0; c < charges.size(); ++c) {
    walks[c].resize(states.families.size());
    for (std::size_t f = 0; f < states.families.size(); ++f) {
      walks[c][f].family = &states.families[f];
      walks[c][f].states = &states;
      walks[c][f].charge = charges[c];
    }
  }
  walk_families(circuit, walks);
  if (!states.sets.empty()) {
    add_sums(circuit, walks, states);
    walk_families(circuit, walks);
  }
  for (bool more = true; more;) {
    share_networks(circuit, 2, 1,
                   [&](Network& network, std::size_t c) { explore_moves(network, loom, states, walks[c]); });
    std::optional<Network> network;
    more = false;
    for (std::size_t f = 0; f < states.families.size(); ++f) {
      more |= carry_over(network, circuit, walks[0][f], walks[1][f]);
      more |= carry_over(network, circuit, walks[1][f], walks[0][f]);
    }
  }
  return walks;
}

}  // namespace

Situations settle_all(const Circuit& circuit, std::size_t most) {
  SwitchStates states = switch_states(circuit, most);
  Situations out;
  out.duty_reached.assign(circuit.loom->duty.size(), false);
  auto walks = walk_all(circuit, states);
  out.possible = states.possible * charges.size();
  out.covered = states.walked * charges.size();
  out.left_out = states.left_out;
  if (!states.sets.empty() && out.left_out.empty()) {
    out.in_between = fmt::format(
        "{} of accessories that meet at their supply alone: each was switched by itself, and beside all others at "
        "their heaviest, and together with those that add to the same current or voltage",
        states.accessories.size() == 1 ? "one group" : fmt::format("{} groups", states.accessories.size()));
  }
  const auto take = [&](std::vector<OperatingPoint>& from, std::vector<OperatingPoint>& into) {
    for (OperatingPoint& point : from) {
      if (point.situation.duty) out.duty_reached[point.situation.duty->value] = true;
      into.push_back(std::move(point));
    }
  };
  for (std::size_t f = 0; f < states.families.size(); ++f) {
    for (Walks& of_charge : walks) {
      take(of_charge[f].settled.points, out.points);
      take(of_charge[f].settled.troubled, out.troubled);
    }
  }
  return out;
}

}  // namespace loomproof
