// Faults are shared out among threads one by one and each is walked by itself, so that their number changes nothing.
#include "solve/fault_walk.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <set>

#include <fmt/format.h>

#include "solve/beside.h"
#include "solve/fault_bounds.h"
#include "solve/fault_classes.h"
#include "solve/fault_walker.h"
#include "solve/opened.h"
#include "solve/switch_states.h"
#include "solve/usable_cores.h"

namespace loomproof {
namespace {

Parts listed(const Loom& loom, const std::vector<char>& is) {
  Parts out;
  for (std::size_t p = 0; p < is.size(); ++p) {
    if (is[p] != 0 && loom.parts[p].positions.size() > 1) out.push_back(p);
  }
  return out;
}

Parts merged(const Parts& a, const Parts& b) {
  Parts out;
  std::set_union(a.begin(), a.end(), b.begin(), b.end(), std::back_inserter(out));
  return out;
}

// Two groups are walked together where that is no more states than one after the other, and not so many that one of
// them would be walked near rest only.
void join_groups(const Loom& loom, std::vector<WatchGroup>& groups) {
  for (std::size_t i = 0; i < groups.size(); ++i) {
    for (std::size_t j = i + 1; j < groups.size(); ++j) {
      WatchGroup &to = groups[i], &from = groups[j];
      Parts all = merged(to.parts, from.parts);
      const std::size_t together = count_states(loom, all);
      if (together > most_walked_states) continue;
      if (together > count_states(loom, to.parts) + count_states(loom, from.parts)) continue;
      to.parts = std::move(all);
      to.watches.insert(to.watches.end(), from.watches.begin(), from.watches.end());
      to.targets.insert(to.targets.end(), from.targets.begin(), from.targets.end());
      groups.erase(groups.begin() + static_cast<std::ptrdiff_t>(j));
      j = i;  // what did not fit before may fit now
    }
  }
}

// Watches with nearly the same cone are walked together.
std::vector<WatchGroup> group_watches(const Loom& loom, const Cones& cones, const std::vector<WatchResult>& watches,
                                      const Circuit& circuit, bool cut) {
  std::map<Parts, WatchGroup> by_parts;
  for (std::size_t w = 0; w < watches.size(); ++w) {
    const std::vector<Target> targets = targets_of(watches[w].watch, circuit);
    std::vector<char> is(loom.parts.size(), 1);
    if (cut) {
      is = cones.of(targets).parts;
      for (const auto& [part, position] : watches[w].watch.when) is[part.value] = 1;
    }
    const Parts parts = listed(loom, is);
    WatchGroup& group = by_parts[parts];
    group.parts = parts;
    group.watches.push_back(w);
    group.targets.insert(group.targets.end(), targets.begin(), targets.end());
  }
  std::vector<WatchGroup> out;
  for (auto& [parts, group] : by_parts) out.push_back(std::move(group));
  std::stable_sort(out.begin(), out.end(), [&](const WatchGroup& a, const WatchGroup& b) {
    return count_states(loom, a.parts) > count_states(loom, b.parts);
  });
  join_groups(loom, out);
  for (WatchGroup& group : out) std::sort(group.watches.begin(), group.watches.end());
  return out;
}

void check_without_fault(FaultNetwork& network, const Table& table, std::vector<WatchResult>& watches) {
  for (const BaseState& state : table.states) {
    const OperatingPoint& point = network.settle_from(state.situation, state.logic, state.modes);
    for (WatchResult& w : watches) {
      if (!matches(w.watch, state.situation.positions)) continue;
      const auto value = violation(w.watch, network.circuit(), point);
      const std::size_t moved = moved_switches(state.situation.positions);
      if (!value || (w.without_fault && w.without_fault->moved <= moved)) continue;
      w.without_fault =
          Sighting{std::nullopt, state.situation, state.logic, moved, history_of(state), *value, {}, false};
    }
  }
}

// Of what was seen from rest: the torque stands first in it, then the lights.
std::vector<BrakeView> brake_views(const Loom& loom, const Table& table) {
  const Elements& all = loom.elements;
  const auto torques =
      std::count_if(all.outputs.begin(), all.outputs.end(), [](const Output& o) { return o.name == "torque"; });
  std::vector<BrakeView> out;
  for (const BaseState& s : table.states) {
    if (!s.first) continue;
    BrakeView view{&s.situation, &s.logic, {}};
    auto seen = s.seen.begin() + torques;
    for (const Load& l : all.loads) view.shines.push_back(l.light && *seen++ == 2 ? 1 : 0);
    out.push_back(std::move(view));
  }
  return out;
}

void find_memory(const Table& table, FaultWalk& walk) {
  std::vector<char> remembers;
  for (std::size_t i = 1; i < table.states.size(); ++i) {
    if (table.states[i].first) continue;
    const auto& a = table.states[i].logic.coil_on;
    const auto& b = table.states[i - 1].logic.coil_on;
    remembers.resize(a.size(), 0);
    for (std::size_t c = 0; c < a.size(); ++c) remembers[c] |= static_cast<char>(a[c] != b[c]);
  }
  for (std::size_t c = 0; c < remembers.size(); ++c) {
    if (remembers[c] != 0) walk.remembers.push_back(c);
  }
}

// From a state in which every coil is on: what then stays on, and never was on from rest.
void find_deadlocks(FaultNetwork& network, const Table& table, FaultWalk& walk) {
  const Loom& loom = *network.circuit().loom;
  const Elements& all = loom.elements;
  std::vector<char> output(all.outputs.size(), 0), coil(all.coils.size(), 0);
  for (const BaseState& s : table.states) {
    for (std::size_t i = 0; i < output.size(); ++i) output[i] |= static_cast<char>(s.logic.output_on[i]);
    for (std::size_t i = 0; i < coil.size(); ++i) coil[i] |= static_cast<char>(s.logic.coil_on[i]);
  }
  walk.output_on = output;
  walk.coil_on = coil;
  for (const BaseState& s : table.states) {
    LogicState kicked = s.logic;
    std::fill(kicked.coil_on.begin(), kicked.coil_on.end(), std::uint8_t{1});
    for (std::size_t i = 0; i < all.contacts.size(); ++i) {
      // Switches stand as they do; all else is closed for a start and follows what it then sees.
      if (!moves_by_hand(all.contacts[i].closed_when)) kicked.contact_closed[i] = 1;
    }
    std::fill(kicked.converter_on.begin(), kicked.converter_on.end(), std::uint8_t{1});
    const OperatingPoint& point = network.settle_from(s.situation, kicked, s.modes);
    if (!point.trouble.empty()) continue;
    const auto note = [&](Target::What what, std::size_t i, std::vector<char>& known, bool on) {
      if (known[i] != 0 || !on) return;
      known[i] = 1;
      walk.deadlocks.push_back({{what, i}, s.situation});
    };
    for (std::size_t i = 0; i < output.size(); ++i)
      note(Target::What::output, i, output, point.logic.output_on[i] != 0);
    for (std::size_t i = 0; i < coil.size(); ++i) note(Target::What::coil, i, coil, point.logic.coil_on[i] != 0);
  }
}

std::vector<std::size_t> classes_of(const FaultNetwork& network, const std::vector<Fault>& faults, bool by_class) {
  if (by_class) return fault_classes(network, faults);
  std::vector<std::size_t> out(faults.size());
  std::iota(out.begin(), out.end(), std::size_t{0});
  return out;
}

// A settled state costs about as much as a look at so many lines of the circuit.
constexpr std::size_t lines_per_state = 40;

// Bounds are looked for once for every setting of a watch, in the whole circuit. Where few states are to be settled
// they would cost more than they save.
bool is_worth_bounds(const WatchGroup& group, const FaultWalk& walk, const Table& table, std::size_t lines) {
  std::set<std::vector<std::pair<PartIndex, int>>> settings;
  for (std::size_t w : group.watches) settings.insert(walk.watches[w].watch.when);
  return table.states.size() * lines_per_state > settings.size() * lines;
}

// Bounds, and the watches that they are looked for.
struct Bounding {
  FaultBounds taught;
  std::vector<std::size_t> bounded, others;  // watches
  Parts apart;
};

Bounding bounding_of(const FaultNetwork& network, const std::vector<WatchGroup>& groups,
                     const std::vector<Table>& tables, const WalkShortcuts& shortcuts, const FaultWalk& walk) {
  Bounding out{FaultBounds(network.circuit(), network.lines(), walk.watches), {}, {}, {}};
  Parts moved;
  for (const WatchGroup& g : groups) {
    moved = merged(moved, g.parts);
    const bool worth = shortcuts.bounds && is_worth_bounds(g, walk, tables[g.table], network.lines().all.size());
    auto& to = worth ? out.bounded : out.others;
    to.insert(to.end(), g.watches.begin(), g.watches.end());
    for (std::size_t w : g.watches) {
      if (worth) out.taught.learn(w, tables[g.table]);
    }
  }
  std::sort(out.bounded.begin(), out.bounded.end());
  out.apart = exclusive_switches(*network.circuit().loom, moved);
  return out;
}

// By fault that stands for its class: the watches that bounds leave open.
std::vector<std::vector<std::size_t>> open_watches(const Bounding& bounding, const std::vector<std::size_t>& class_of,
                                                   unsigned threads, FaultWalk& walk) {
  std::vector<std::vector<std::size_t>> out(walk.faults.size(), bounding.others);
  if (!bounding.bounded.empty()) {
    std::vector<std::size_t> firsts;
    for (std::size_t f = 0; f < class_of.size(); ++f) {
      if (class_of[f] == f) firsts.push_back(f);
    }
    share_out(firsts.size(), threads, [&] {
      return [&, bounds = std::make_unique<FaultBounds>(bounding.taught)](std::size_t i) {
        std::vector<std::size_t>& open = out[firsts[i]];
        const auto left = bounds->left_open(walk.faults[firsts[i]], bounding.bounded, bounding.apart);
        open.insert(open.end(), left.begin(), left.end());
      };
    });
  }
  for (std::vector<std::size_t>& open : out) std::sort(open.begin(), open.end());
  for (std::size_t f : class_of) walk.bounded += walk.watches.size() - out[f].size();
  return out;
}

// A table that is another one's states with more switches.
struct Wider {
  std::size_t table = 0, base = 0;
};

std::string near_words(std::size_t states, const std::string& fault) {
  return fmt::format(
      "{} switch states make a difference under {}, more than {}: of these, only rest, the duty points' switches "
      "and one or two moves from these were walked",
      states, fault, most_walked_states);
}

struct SentOut {
  std::vector<std::vector<Errand>> errands;    // by fault
  std::vector<std::vector<Suspect>> suspects;  // by fault
  std::vector<Wider> wider;
};

// Who goes where: by cones with the fault in.
SentOut send_out(FaultNetwork& network, const Cones& whole, const std::vector<WatchGroup>& groups,
                 std::vector<Table>& tables, std::map<Parts, std::size_t>& table_of,
                 const std::vector<std::size_t>& class_of, const std::vector<std::vector<std::size_t>>& open,
                 const WalkShortcuts& shortcuts, FaultWalk& walk) {
  const Loom& loom = *network.circuit().loom;
  SentOut out{
      std::vector<std::vector<Errand>>(walk.faults.size()), std::vector<std::vector<Suspect>>(walk.faults.size()), {}};
  std::size_t most_states = 0;
  for (std::size_t f = 0; f < walk.faults.size(); ++f) {
    if (open[class_of[f]].empty()) continue;
    std::optional<Cones> cones;
    Cones::Cone mine;
    if (shortcuts.cones) {
      network.apply(&walk.faults[f]);
      cones.emplace(network);
      mine = cones->of_fault();
    }
    const bool bridges =
        walk.faults[f].type == FaultType::wire_on_frame || walk.faults[f].type == FaultType::pins_bridged;
    for (std::size_t g = 0; g < groups.size(); ++g) {
      Parts parts = groups[g].parts;
      if (cones) {
        const Cones::Cone cone = cones->of(groups[g].targets);
        bool meet = bridges || cones->fault_is_everywhere();
        for (std::size_t c = 0; !meet && c < cone.clusters.size(); ++c)
          meet = cone.clusters[c] != 0 && mine.clusters[c] != 0;
        if (!meet) {
          ++walk.cut;
          continue;
        }
        parts = merged(parts, merged(listed(loom, cone.parts), listed(loom, mine.parts)));
      }
      ++walk.walked;
      auto [at, fresh] = table_of.emplace(parts, tables.size());
      if (fresh) {
        Parts more;
        const Parts& base = groups[g].parts;
        std::set_difference(parts.begin(), parts.end(), base.begin(), base.end(), std::back_inserter(more));
        out.wider.push_back({tables.size(), groups[g].table});
        tables.push_back(wider(loom, tables[groups[g].table], more));
      }
      const std::size_t states = count_states(loom, parts);
      if (!tables[at->second].whole) {
        most_states = std::max(most_states, states);
        for (std::size_t w : groups[g].watches) {
          const std::vector<std::size_t>& left = open[class_of[f]];
          std::string& words = walk.watches[w].left_out;
          if (words.empty() && std::binary_search(left.begin(), left.end(), w))
            words = near_words(states, describe(loom, walk.faults[f]));
        }
      }
      out.errands[f].push_back({g, at->second});
    }
    for (std::size_t w : open[class_of[f]]) {
      std::vector<char> decides(loom.parts.size(), 1);
      if (cones && !bridges && !cones->fault_is_everywhere()) {
        // As for a group: what had a say without the fault, what has one with it, and what commands where it lies.
        const std::vector<Target> targets = targets_of(walk.watches[w].watch, network.circuit());
        const std::vector<char> without = whole.of(targets).parts, with = cones->of(targets).parts;
        for (std::size_t p = 0; p < decides.size(); ++p)
          decides[p] = static_cast<char>(without[p] != 0 || with[p] != 0 || mine.parts[p] != 0);
        for (const auto& [part, position] : walk.watches[w].watch.when) decides[part.value] = 1;
      }
      out.suspects[f].push_back({w, listed(loom, decides), {}});
    }
    network.apply(nullptr);
  }
  if (most_states > 0) walk.left_out = near_words(most_states, "one of the faults");
  return out;
}

// Where bounds for each position of a switch cost less than the states that they save.
constexpr std::size_t worth_positions = 64;

void find_positions(FaultBounds& bounds, const Loom& loom, const Fault& fault, std::vector<Suspect>& suspects) {
  Parts switches;
  std::vector<std::size_t> watches;
  for (const Suspect& s : suspects) {
    if (count_states(loom, s.decide) < worth_positions) continue;
    switches = merged(switches, s.decide);
    watches.push_back(s.watch);
  }
  if (watches.empty()) return;
  auto never = bounds.never_at(fault, watches, switches);
  std::size_t i = 0;
  for (Suspect& s : suspects) {
    if (i < watches.size() && watches[i] == s.watch) s.never = std::move(never[i++]);
  }
}

// Of the wider tables only the states that tell of a suspect.
void fill_wider(FaultNetwork& network, const SentOut& sent, const std::vector<std::vector<std::size_t>>& classes,
                const std::vector<WatchGroup>& groups, const WalkShortcuts& shortcuts, const FaultWalk& walk,
                std::vector<Table>& tables) {
  for (const Wider& wide : sent.wider) {
    std::vector<const Suspect*> suspects;
    for (const std::vector<std::size_t>& c : classes) {
      for (const Errand& errand : sent.errands[c.front()]) {
        if (errand.table != wide.table) continue;
        const std::vector<std::size_t>& watches = groups[errand.group].watches;
        for (const Suspect& s : sent.suspects[c.front()]) {
          if (std::find(watches.begin(), watches.end(), s.watch) != watches.end()) suspects.push_back(&s);
        }
      }
    }
    fill(network, tables[wide.base], tables[wide.table], [&](const Positions& at) {
      return std::any_of(suspects.begin(), suspects.end(), [&](const Suspect* s) {
        return matches(walk.watches[s->watch].watch, at) && (!shortcuts.bounds || tells_of(*s, at));
      });
    });
  }
}

// Faults of one class, as long as cones sent them on the same errands. Those without any are left out.
std::vector<std::vector<std::size_t>> walked_together(const std::vector<std::size_t>& class_of,
                                                      const std::vector<std::vector<Errand>>& errands) {
  std::map<std::pair<std::size_t, std::vector<Errand>>, std::size_t> place;
  std::vector<std::vector<std::size_t>> out;
  for (std::size_t f = 0; f < errands.size(); ++f) {
    if (errands[f].empty()) continue;
    const auto [at, fresh] = place.emplace(std::pair(class_of[f], errands[f]), out.size());
    if (fresh) out.emplace_back();
    out[at->second].push_back(f);
  }
  return out;
}

}  // namespace

FaultWalk walk_faults(const Circuit& circuit, unsigned threads, const WalkShortcuts& shortcuts) {
  const Loom& loom = *circuit.loom;
  FaultWalk walk;
  walk.faults = single_faults(circuit);
  FaultNetwork network(circuit, walk.faults);
  network.forget_all(!shortcuts.memory);
  const Cones whole(network);

  // The switches of all that is ever watched, and what they allow without a fault.
  for (const Watch& w : fixed_watches(circuit)) walk.watches.push_back({w, std::nullopt, {}, 0, {}});
  std::vector<Target> targets;
  for (const WatchResult& w : walk.watches) {
    const auto more = targets_of(w.watch, network.circuit());
    targets.insert(targets.end(), more.begin(), more.end());
  }
  std::vector<Target> decided;
  for (std::size_t i = 0; i < loom.elements.outputs.size(); ++i) {
    if (loom.elements.outputs[i].name == "torque") decided.push_back({Target::What::output, i});
  }
  for (std::size_t i = 0; i < loom.elements.coils.size(); ++i) {
    if (loom.part(loom.elements.coils[i].part).kind == "contactor") decided.push_back({Target::What::coil, i});
  }
  // Without drive and contactor, what its relays remember is still worth a look.
  if (decided.empty()) {
    for (std::size_t i = 0; i < loom.elements.coils.size(); ++i) decided.push_back({Target::What::coil, i});
  }
  targets.insert(targets.end(), decided.begin(), decided.end());
  std::vector<Table> tables;
  std::map<Parts, std::size_t> table_of;
  if (targets.empty()) return walk;
  {
    std::vector<char> is = whole.of(decided).parts;
    if (!shortcuts.cones) std::fill(is.begin(), is.end(), char{1});
    tables.push_back(explore(network, listed(loom, is)));
    table_of.emplace(tables[0].parts, 0);
    Allowed from_rest = nothing_allowed(loom), ever = nothing_allowed(loom);
    for (const BaseState& s : tables[0].states) {
      const OperatingPoint& point = network.settle_from(s.situation, s.logic, s.modes);
      note_allowed(ever, network.circuit(), s.situation, point);
      if (s.first) note_allowed(from_rest, network.circuit(), s.situation, point);
    }
    const std::vector<char>& in = is;
    for (const Watch& w : derive_watches(loom, from_rest, ever)) {
      // A switch outside the cone was never moved.
      if (in[w.when.front().first.value] != 0) walk.watches.push_back({w, std::nullopt, {}, 0, {}});
    }
    for (const Watch& w : lamp_watches(loom, brake_views(loom, tables[0]))) walk.watches.push_back({w, {}, {}, 0, {}});
    find_memory(tables[0], walk);
    find_deadlocks(network, tables[0], walk);
  }

  std::vector<WatchGroup> groups = group_watches(loom, whole, walk.watches, network.circuit(), shortcuts.cones);
  for (WatchGroup& g : groups) {
    const auto [at, fresh] = table_of.emplace(g.parts, tables.size());
    if (fresh) tables.push_back(explore(network, g.parts));
    g.table = at->second;
    std::vector<WatchResult> mine;
    for (std::size_t w : g.watches) mine.push_back(walk.watches[w]);
    check_without_fault(network, tables[g.table], mine);
    for (std::size_t i = 0; i < mine.size(); ++i) {
      if (!tables[g.table].whole) mine[i].left_out = near_words(count_states(loom, g.parts), "no fault at all");
      walk.watches[g.watches[i]] = std::move(mine[i]);
    }
    walk.states += tables[g.table].states.size();
  }

  const std::vector<std::size_t> class_of = classes_of(network, walk.faults, shortcuts.classes);
  const unsigned workers = threads != 0 ? threads : usable_cores();
  const Bounding bounding = bounding_of(network, groups, tables, shortcuts, walk);
  const auto open = open_watches(bounding, class_of, workers, walk);
  SentOut sent = send_out(network, whole, groups, tables, table_of, class_of, open, shortcuts, walk);
  const std::vector<std::vector<Errand>>& errands = sent.errands;

  std::vector<std::vector<std::size_t>> classes = walked_together(class_of, errands);
  if (shortcuts.bounds) {
    share_out(classes.size(), workers, [&] {
      return [&, bounds = std::make_unique<FaultBounds>(bounding.taught)](std::size_t c) {
        const std::size_t first = classes[c].front();
        find_positions(*bounds, loom, walk.faults[first], sent.suspects[first]);
      };
    });
  }
  fill_wider(network, sent, classes, groups, shortcuts, walk, tables);
  // The longest first, or one thread is left with it when the others have ended.
  const auto length = [&](const std::vector<std::size_t>& c) {
    std::size_t states = 0;
    for (const Errand& errand : errands[c.front()]) states += tables[errand.table].states.size();
    return states;
  };
  std::stable_sort(classes.begin(), classes.end(), [&](const auto& a, const auto& b) { return length(a) > length(b); });
  std::vector<Outcome> outcomes(walk.faults.size());
  share_out(classes.size(), workers, [&] {
    return [&, walker = std::make_unique<Walker>(circuit, network, walk, groups, tables, shortcuts)](std::size_t c) {
      const std::size_t first = classes[c].front();
      outcomes[first] = walker->walk(first, errands[first], sent.suspects[first]);
      for (std::size_t f : classes[c]) {
        if (f != first) outcomes[f] = walker->retold(outcomes[first], f);
      }
    };
  });
  for (Outcome& outcome : outcomes) {
    walk.points += outcome.points;
    for (std::size_t w = 0; w < outcome.unsettled.size(); ++w) walk.watches[w].unsettled += outcome.unsettled[w];
    for (Found& found : outcome.found) walk.watches[found.watch].by_fault.push_back(std::move(found.sighting));
  }
  return walk;
}

Retold::Retold(const Circuit& circuit, const FaultWalk& walk, const Sighting& sighting)
    : network_(std::make_unique<FaultNetwork>(circuit, walk.faults)) {
  without_ = network_->settle_from_rest(sighting.situation);
  if (sighting.fault) network_->apply(&walk.faults[*sighting.fault]);
  if (sighting.from_rest()) {
    with_ = network_->settle_from_rest(sighting.situation);
  } else {
    FaultNetwork::Modes modes = network_->modes();
    with_ = network_->settle_from(sighting.situation, sighting.before, modes);
  }
  for (std::size_t b = 0; b < network_->circuit().branches.size(); ++b) amps_.push_back(network_->current_a(b));
  blown_ = network_->blown();
}

}  // namespace loomproof
