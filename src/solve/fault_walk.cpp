// Faults are shared out among threads one by one and each is walked by itself, so that their number changes nothing.
#include "solve/fault_walk.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <future>
#include <map>
#include <numeric>
#include <thread>

#include <fmt/format.h>

#include "solve/fault_classes.h"
#include "solve/fault_idle.h"
#include "solve/light.h"
#include "solve/opened.h"
#include "solve/switch_states.h"

namespace loomproof {
namespace {

using Parts = std::vector<std::size_t>;

constexpr double glows_from = 0.1;  // share of the rated voltage

// Faults that walk over a table; for fewer, the search for what is idle costs more than it saves.
constexpr std::size_t worth_an_idle_search = 4;

struct BaseState {
  Situation situation;
  LogicState logic;
  FaultNetwork::Modes modes;
  std::vector<std::uint8_t> seen;          // what a person sees of it
  bool first = true;                       // of its situation; others differ in what they remember
  std::vector<bool> idle, idle_from_rest;  // by fault: it changes nothing here, or on the way here; empty: not known
};

struct Table {
  Parts parts;
  std::vector<BaseState> states;
  bool whole = true;
};

// What a person sees: torque there or not, each light dark, glowing or shining.
void observe(const Circuit& circuit, const OperatingPoint& point, std::vector<std::uint8_t>& out) {
  const Elements& all = circuit.loom->elements;
  out.clear();
  for (std::size_t i = 0; i < all.outputs.size(); ++i) {
    if (all.outputs[i].name == "torque") out.push_back(point.logic.output_on[i]);
  }
  for (const Load& l : all.loads) {
    if (!l.light) continue;
    const int a = circuit.node(l.pos), b = circuit.node(l.neg);
    const double v = point.piece[a] == point.piece[b] ? std::fabs(point.node_v[a] - point.node_v[b]) : 0;
    const double share = v / (l.rated_v && *l.rated_v > 0 ? *l.rated_v : assumed_rated_v);
    out.push_back(share >= shines_from ? 2 : share >= glows_from ? 1 : 0);
  }
}

std::string words_of(const Loom& loom, std::size_t seen, std::uint8_t before, std::uint8_t now) {
  const Elements& all = loom.elements;
  for (const Output& o : all.outputs) {
    if (o.name != "torque") continue;
    if (seen-- == 0) return fmt::format("'{}' {} torque", loom.part(o.part).name, now == 0 ? "gives no" : "gives");
  }
  for (const Load& l : all.loads) {
    if (!l.light) continue;
    if (seen-- != 0) continue;
    const std::string name = title_of(loom, l);
    return fmt::format("'{}' {}", name,
                       now == 0       ? "stays dark"
                       : now < before ? "glows only"
                       : now == 1     ? "glows"
                                      : "is on");
  }
  return {};
}

// Every combination, each one switch move from the one before.
std::vector<Positions> every_state(const Loom& loom, const Parts& parts) {
  std::vector<Positions> out{Positions(loom.parts.size(), 0)};
  for (std::size_t p : parts) {
    const std::size_t had = out.size();
    for (std::size_t k = 1; k < loom.parts[p].positions.size(); ++k) {
      for (std::size_t i = 0; i < had; ++i) {
        Positions next = out[k % 2 == 1 ? had - 1 - i : i];
        next[p] = static_cast<std::int8_t>(k);
        out.push_back(std::move(next));
      }
    }
  }
  return out;
}

// Rest, the duty points' own switches, and one or two moves from these.
std::vector<Positions> near_positions(const Loom& loom, const Parts& parts) {
  std::vector<Positions> bases{Positions(loom.parts.size(), 0)};
  for (const DutyPoint& duty : loom.duty) {
    Positions base(loom.parts.size(), 0);
    for (const auto& [part, position] : duty.with) base[part.value] = static_cast<std::int8_t>(position);
    bases.push_back(base);
  }
  std::vector<Positions> out;
  std::map<Positions, bool> had;
  const auto add = [&](const Positions& p) {
    if (had.emplace(p, true).second) out.push_back(p);
  };
  for (const Positions& base : bases) {
    add(base);
    for (std::size_t i : parts) {
      for (std::size_t k = 0; k < loom.parts[i].positions.size(); ++k) {
        Positions one = base;
        one[i] = static_cast<std::int8_t>(k);
        add(one);
        for (std::size_t j : parts) {
          if (j >= i) break;
          for (std::size_t m = 0; m < loom.parts[j].positions.size(); ++m) {
            Positions two = one;
            two[j] = static_cast<std::int8_t>(m);
            add(two);
          }
        }
      }
    }
  }
  return out;
}

std::size_t moved_switches(const Positions& p) {
  return static_cast<std::size_t>(std::count_if(p.begin(), p.end(), [](std::int8_t k) { return k != 0; }));
}

// Breadth first along single switch moves, and every switch state from rest; without a fault.
Table explore(FaultNetwork& network, const Parts& parts, std::vector<const BaseState*>* rested = nullptr) {
  const Loom& loom = *network.circuit().loom;
  Table table;
  table.parts = parts;
  table.whole = count_states(loom, parts) <= most_walked_states;
  const std::vector<Positions> order = table.whole ? every_state(loom, parts) : near_positions(loom, parts);
  std::map<Positions, std::size_t> place;
  for (std::size_t i = 0; i < order.size(); ++i) place.emplace(order[i], i);
  struct Reached {
    BaseState state;
    std::vector<double> node_v;
    std::vector<int> piece;
  };
  std::vector<std::size_t> from_rest;
  for (Charge charge : {Charge::full, Charge::empty}) {
    std::vector<std::vector<Reached>> reached(order.size());
    std::vector<std::pair<std::size_t, std::size_t>> queue;
    const auto keep = [&](std::size_t at, const OperatingPoint& point) {
      if (!point.trouble.empty()) return;
      for (const Reached& r : reached[at]) {
        if (r.state.logic == point.logic) return;
      }
      Reached r;
      r.state.situation = {order[at], charge, std::nullopt};
      r.state.logic = point.logic;
      r.state.modes = network.modes();
      observe(network.circuit(), point, r.state.seen);
      r.node_v = point.node_v;
      r.piece = point.piece;
      r.state.first = reached[at].empty();
      queue.emplace_back(at, reached[at].size());
      reached[at].push_back(std::move(r));
    };
    for (std::size_t i = 0; i < order.size(); ++i) keep(i, network.settle_from_rest({order[i], charge, std::nullopt}));
    for (std::size_t q = 0; q < queue.size(); ++q) {
      const auto [at, which] = queue[q];
      const Reached from = reached[at][which];
      for (std::size_t p : parts) {
        for (std::size_t k = 0; k < loom.parts[p].positions.size(); ++k) {
          if (from.state.situation.positions[p] == static_cast<std::int8_t>(k)) continue;
          Positions to = from.state.situation.positions;
          to[p] = static_cast<std::int8_t>(k);
          const auto found = place.find(to);
          if (found == place.end()) continue;
          keep(found->second, network.settle_from({to, charge, std::nullopt}, from.state.logic, from.state.modes,
                                                  from.node_v, from.piece));
        }
      }
    }
    for (auto& list : reached) {
      for (Reached& r : list) {
        if (r.state.first) from_rest.push_back(table.states.size());
        table.states.push_back(std::move(r.state));
      }
    }
  }
  if (rested != nullptr) {
    for (std::size_t i : from_rest) rested->push_back(&table.states[i]);
  }
  return table;
}

// The same states with switches besides that decide nothing.
Table widen(FaultNetwork& network, const Table& base, const Parts& more) {
  const Loom& loom = *network.circuit().loom;
  Table out;
  out.parts = base.parts;
  out.parts.insert(out.parts.end(), more.begin(), more.end());
  out.whole = base.whole && count_states(loom, out.parts) <= most_walked_states;
  const std::vector<Positions> extra = out.whole ? every_state(loom, more) : near_positions(loom, more);
  for (const BaseState& state : base.states) {
    for (const Positions& besides : extra) {
      Situation situation = state.situation;
      for (std::size_t p : more) situation.positions[p] = besides[p];
      const OperatingPoint& point = network.settle_from(situation, state.logic, state.modes, {}, {});
      if (!point.trouble.empty()) continue;
      BaseState next;
      next.situation = std::move(situation);
      next.logic = point.logic;
      next.modes = network.modes();
      observe(network.circuit(), point, next.seen);
      next.first = state.first;
      out.states.push_back(std::move(next));
    }
  }
  return out;
}

struct Group {
  std::vector<std::size_t> watches;
  std::vector<Target> targets;
  Parts parts;
  std::size_t table = 0;
};

// What is to be walked of one fault for one group.
struct Errand {
  std::size_t group = 0;
  std::size_t table = 0;
  friend auto operator<=>(const Errand&, const Errand&) = default;
};

struct Found {
  std::size_t watch = 0;
  Sighting sighting;
};

struct Outcome {
  std::vector<Found> found;
  std::vector<std::size_t> unsettled;  // by watch
  std::size_t points = 0;
};

// By part and position told: whether the fault showed there, and how.
class Announcements {
 public:
  explicit Announcements(const Loom& loom) : loom_(loom) {
    for (const Part& p : loom.parts) at_.emplace_back(p.positions.size());
  }

  void note(const BaseState& state, const std::vector<std::uint8_t>& now) {
    if (now == state.seen) return;
    for (std::size_t p = 0; p < at_.size(); ++p) {
      if (at_[p].empty()) continue;
      Sign& sign = at_[p][state.situation.positions[p]];
      if (sign.state != nullptr) continue;
      for (std::size_t i = 0; i < now.size(); ++i) {
        if (now[i] == state.seen[i]) continue;
        sign = {&state, i, now[i]};
        break;
      }
    }
  }

  /// How it shows where the watch is not concerned.
  std::string outside(const Watch& watch) const {
    for (const auto& [part, position] : watch.when) {
      for (std::size_t k = 0; k < at_[part.value].size(); ++k) {
        const Sign& sign = at_[part.value][k];
        if (static_cast<int>(k) == position || sign.state == nullptr) continue;
        return fmt::format("{} with {}", words_of(loom_, sign.seen, sign.state->seen[sign.seen], sign.now),
                           switches(sign.state->situation.positions));
      }
    }
    return {};
  }

 private:
  struct Sign {
    const BaseState* state = nullptr;
    std::size_t seen = 0;
    std::uint8_t now = 0;
  };

  std::string switches(const Positions& positions) const {
    std::string out;
    for (std::size_t p = 0; p < positions.size(); ++p) {
      if (positions[p] == 0) continue;
      if (!out.empty()) out += ", ";
      out += loom_.parts[p].name + " " + loom_.parts[p].positions[positions[p]];
    }
    return out.empty() ? "every switch at rest" : out;
  }

  const Loom& loom_;
  std::vector<std::vector<Sign>> at_;
};

class Walker {
 public:
  Walker(const Circuit& circuit, const FaultWalk& walk, const std::vector<Group>& groups,
         const std::vector<Table>& tables, const WalkShortcuts& shortcuts)
      : walk_(walk),
        groups_(groups),
        tables_(tables),
        shortcuts_(shortcuts),
        network_(circuit, walk.faults),
        best_(walk.watches.size()) {}

  Outcome walk(std::size_t fault, const std::vector<Errand>& errands) {
    const Fault& f = walk_.faults[fault];
    Outcome out;
    out.unsettled.assign(walk_.watches.size(), 0);
    outcome_ = &out;
    fault_ = fault;
    Announcements signs(*network_.circuit().loom);
    signs_ = &signs;
    std::fill(best_.begin(), best_.end(), std::optional<std::size_t>());
    network_.apply(&f);
    for (const Errand& errand : errands) {
      for (const BaseState& state : tables_[errand.table].states) visit(groups_[errand.group], state);
    }
    network_.apply(nullptr);
    for (Found& found : out.found) {
      const Watch& watch = walk_.watches[found.watch].watch;
      found.sighting.announced = signs.outside(watch);
      found.sighting.of_the_switch = is_of_the_switch(watch, f);
    }
    return out;
  }

  /// The same outcome as another fault's, which leaves the same circuit behind.
  Outcome retold(Outcome outcome, std::size_t fault) const {
    for (Found& found : outcome.found) {
      found.sighting.fault = fault;
      found.sighting.of_the_switch = is_of_the_switch(walk_.watches[found.watch].watch, walk_.faults[fault]);
    }
    return outcome;
  }

 private:
  bool is_of_the_switch(const Watch& watch, const Fault& fault) const {
    const auto part = part_of(*network_.circuit().loom, fault);
    return part && std::any_of(watch.when.begin(), watch.when.end(), [&](const auto& w) { return w.first == *part; });
  }

  bool is_idle(const std::vector<bool>& idle) {
    if (idle.empty() || !idle[fault_]) return false;
    ++outcome_->points;  // that of the state itself, in which nothing is amiss
    return true;
  }

  // Where the way from rest ends in the very state of the logic in which the fault struck, that state is settled
  // already: the same network, at rest in the same logic.
  void visit(const Group& group, const BaseState& state) {
    concerned_.clear();
    for (std::size_t w : group.watches) {
      if (matches(walk_.watches[w].watch, state.situation.positions)) concerned_.push_back(w);
    }
    bool had = is_idle(state.idle);
    if (state.first && !is_idle(state.idle_from_rest)) {
      const OperatingPoint& point =
          network_.settle_from_rest(state.situation, shortcuts_.hints ? &state.modes : nullptr);
      const bool same =
          shortcuts_.meeting && !had && point.trouble.empty() && network_.blown().empty() && is_of(state, point);
      if (same) ++outcome_->points;
      look_all(state, point, !same);
      had |= same;
    }
    if (!had) look_all(state, network_.settle_from(state.situation, state.logic, state.modes, {}, {}), false);
  }

  bool is_of(const BaseState& state, const OperatingPoint& point) {
    if (point.situation.positions != state.situation.positions) return false;
    forced_ = state.logic;
    network_.force(forced_);
    return forced_ == point.logic;
  }

  // What settled; each state of a chatter; and both readings of an input that the hardware leaves open.
  void look_all(const BaseState& state, const OperatingPoint& point, bool from_rest) {
    ++outcome_->points;
    if (!point.trouble.empty()) {
      if (network_.cycle().empty()) {
        for (std::size_t w : concerned_) ++outcome_->unsettled[w];
        return;
      }
      const std::vector<LogicState> cycle = network_.cycle();
      for (const LogicState& step : cycle) look(state, network_.hold(step), from_rest);
      return;
    }
    look(state, point, from_rest);
    const std::vector<std::size_t> open = network_.undefined_inputs();
    for (std::size_t i : open) {
      for (bool asserted : {false, true}) {
        network_.force_input(i, asserted);
        const OperatingPoint& read = network_.settle_again();
        ++outcome_->points;
        if (read.trouble.empty()) look(state, read, from_rest);
        network_.free_input(i);
      }
    }
  }

  // A burnt-out lamp has its voltage and stays dark; in what is seen the torque stands first, then the lights.
  void darken() {
    const Fault& f = walk_.faults[fault_];
    if (f.type != FaultType::lamp_out) return;
    const Elements& all = network_.circuit().loom->elements;
    std::size_t at = 0;
    for (const Output& o : all.outputs) at += o.name == "torque" ? 1 : 0;
    for (std::size_t i = 0; i < f.index; ++i) at += all.loads[i].light ? 1 : 0;
    now_[at] = 0;
  }

  void look(const BaseState& state, const OperatingPoint& point, bool from_rest) {
    observe(network_.circuit(), point, now_);
    darken();
    signs_->note(state, now_);
    for (std::size_t w : concerned_) {
      const auto value = violation(walk_.watches[w].watch, network_.circuit(), point);
      if (!value) continue;
      const std::size_t moved = moved_switches(state.situation.positions);
      if (best_[w] && !is_nearer(outcome_->found[*best_[w]].sighting, state, moved, from_rest)) continue;
      Sighting seen;
      seen.fault = fault_;
      seen.situation = state.situation;
      if (!from_rest) seen.before = state.logic;
      seen.moved = moved;
      seen.value = *value;
      if (!best_[w]) {
        best_[w] = outcome_->found.size();
        outcome_->found.emplace_back();
      }
      outcome_->found[*best_[w]] = {w, std::move(seen)};
    }
  }

  // Fewer switches away from rest; of one situation, a fault that strikes there before one that was there from rest.
  static bool is_nearer(const Sighting& than, const BaseState& state, std::size_t moved, bool from_rest) {
    if (moved != than.moved) return moved < than.moved;
    return !from_rest && than.from_rest() && than.situation.positions == state.situation.positions &&
           than.situation.charge == state.situation.charge;
  }

  const FaultWalk& walk_;
  const std::vector<Group>& groups_;
  const std::vector<Table>& tables_;
  const WalkShortcuts shortcuts_;
  FaultNetwork network_;
  std::vector<std::optional<std::size_t>> best_;  // by watch, into the outcome's found
  std::vector<std::size_t> concerned_;
  std::vector<std::uint8_t> now_;
  LogicState forced_;
  Outcome* outcome_ = nullptr;
  Announcements* signs_ = nullptr;
  std::size_t fault_ = 0;
};

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

// Watches with nearly the same cone are walked together.
std::vector<Group> group_watches(const Loom& loom, const Cones& cones, const std::vector<WatchResult>& watches,
                                 const Circuit& circuit, bool cut) {
  std::vector<Group> out;
  for (std::size_t w = 0; w < watches.size(); ++w) {
    const std::vector<Target> targets = targets_of(watches[w].watch, circuit);
    std::vector<char> is(loom.parts.size(), 1);
    if (cut) {
      is = cones.of(targets).parts;
      for (const auto& [part, position] : watches[w].watch.when) is[part.value] = 1;
    }
    const Parts parts = listed(loom, is);
    const auto fits = [&](const Group& g) {
      const std::size_t together = count_states(loom, merged(g.parts, parts));
      return together <= most_walked_states &&
             together <= 2 * std::max(count_states(loom, g.parts), count_states(loom, parts));
    };
    auto at = std::find_if(out.begin(), out.end(), [&](const Group& g) { return g.parts == parts || fits(g); });
    if (at == out.end()) {
      out.emplace_back();
      at = out.end() - 1;
    }
    at->parts = merged(at->parts, parts);
    at->watches.push_back(w);
    at->targets.insert(at->targets.end(), targets.begin(), targets.end());
  }
  return out;
}

void check_without_fault(FaultNetwork& network, const Table& table, std::vector<WatchResult>& watches) {
  for (const BaseState& state : table.states) {
    const OperatingPoint& point = network.settle_from(state.situation, state.logic, state.modes, {}, {});
    for (WatchResult& w : watches) {
      if (!matches(w.watch, state.situation.positions)) continue;
      const auto value = violation(w.watch, network.circuit(), point);
      const std::size_t moved = moved_switches(state.situation.positions);
      if (!value || (w.without_fault && w.without_fault->moved <= moved)) continue;
      w.without_fault = Sighting{std::nullopt, state.situation, state.logic, moved, *value, {}, false};
    }
  }
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

// Settled, read one way only, no watch violated: what a fault that changes nothing would be seen to do.
bool is_quiet(const FaultNetwork& network, const BaseState& state, const std::vector<WatchResult>& watches,
              std::vector<std::uint8_t>& seen) {
  const OperatingPoint& point = network.point();
  if (!point.trouble.empty() || point.logic != state.logic || network.overloads_fuse()) return false;
  observe(network.circuit(), point, seen);
  if (seen != state.seen || !network.undefined_inputs().empty()) return false;
  return std::none_of(watches.begin(), watches.end(), [&](const WatchResult& w) {
    return matches(w.watch, state.situation.positions) && violation(w.watch, network.circuit(), point);
  });
}

void find_idle(FaultNetwork& network, const FaultWalk& walk, Table& table) {
  IdleFaults finder(network, walk.faults);
  std::vector<std::uint8_t> seen;
  for (BaseState& state : table.states) {
    network.settle_from(state.situation, state.logic, state.modes, {}, {});
    if (!is_quiet(network, state, walk.watches, seen) || network.passed().size() != 0) continue;
    state.idle.assign(walk.faults.size(), true);
    finder.narrow(state.situation, state.logic, state.idle);
    if (!state.first) continue;
    network.settle_from_rest(state.situation, &state.modes);
    if (!is_quiet(network, state, walk.watches, seen)) continue;
    state.idle_from_rest = state.idle;
    for (const LogicState& logic : network.passed()) finder.narrow(state.situation, logic, state.idle_from_rest);
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
    const OperatingPoint& point = network.settle_from(s.situation, kicked, s.modes, {}, {});
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

// Faults of one class, as long as cones sent them on the same errands. Those without any are left out.
std::vector<std::vector<std::size_t>> walked_together(const FaultNetwork& network, const std::vector<Fault>& faults,
                                                      const std::vector<std::vector<Errand>>& errands, bool by_class) {
  std::vector<std::size_t> class_of(faults.size());
  std::iota(class_of.begin(), class_of.end(), std::size_t{0});
  if (by_class) class_of = fault_classes(network, faults);
  std::map<std::pair<std::size_t, std::vector<Errand>>, std::size_t> place;
  std::vector<std::vector<std::size_t>> out;
  for (std::size_t f = 0; f < faults.size(); ++f) {
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
  const Cones whole(network);

  // The switches of all that is ever watched, and what they allow without a fault.
  for (const Watch& w : fixed_watches(circuit)) walk.watches.push_back({w, std::nullopt, {}, 0});
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
    std::vector<const BaseState*> rested;
    tables.push_back(explore(network, listed(loom, is), &rested));
    table_of.emplace(tables[0].parts, 0);
    Allowed from_rest = nothing_allowed(loom), ever = nothing_allowed(loom);
    for (const BaseState& s : tables[0].states) {
      const OperatingPoint& point = network.settle_from(s.situation, s.logic, s.modes, {}, {});
      note_allowed(ever, network.circuit(), s.situation, point);
      if (s.first) note_allowed(from_rest, network.circuit(), s.situation, point);
    }
    const std::vector<char>& in = is;
    for (const Watch& w : derive_watches(loom, from_rest, ever)) {
      // A switch outside the cone was never moved.
      if (in[w.when.front().first.value] != 0) walk.watches.push_back({w, std::nullopt, {}, 0});
    }
    find_memory(tables[0], walk);
    find_deadlocks(network, tables[0], walk);
  }

  std::vector<Group> groups = group_watches(loom, whole, walk.watches, network.circuit(), shortcuts.cones);
  for (Group& g : groups) {
    const auto [at, fresh] = table_of.emplace(g.parts, tables.size());
    if (fresh) tables.push_back(explore(network, g.parts));
    g.table = at->second;
    std::vector<WatchResult> mine;
    for (std::size_t w : g.watches) mine.push_back(walk.watches[w]);
    check_without_fault(network, tables[g.table], mine);
    for (std::size_t i = 0; i < mine.size(); ++i) walk.watches[g.watches[i]] = std::move(mine[i]);
    walk.states += tables[g.table].states.size();
  }

  // Who goes where: by cones with the fault in.
  std::vector<std::vector<Errand>> errands(walk.faults.size());
  bool near_only = false;
  std::size_t most_states = 0;
  for (std::size_t f = 0; f < walk.faults.size(); ++f) {
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
        network.apply(nullptr);
        Parts more;
        const Parts& base = groups[g].parts;
        std::set_difference(parts.begin(), parts.end(), base.begin(), base.end(), std::back_inserter(more));
        Table wide = widen(network, tables[groups[g].table], more);
        tables.push_back(std::move(wide));
        if (cones) network.apply(&walk.faults[f]);
      }
      near_only |= !tables[at->second].whole;
      most_states = std::max(most_states, count_states(loom, parts));
      errands[f].push_back({g, at->second});
    }
    network.apply(nullptr);
  }
  if (near_only) {
    walk.left_out = fmt::format(
        "up to {} switch states can be seen by one fault, more than {}: there, only rest, the duty points' switches "
        "and "
        "one or two moves from these were walked",
        most_states, most_walked_states);
  }

  const std::vector<std::vector<std::size_t>> classes =
      walked_together(network, walk.faults, errands, shortcuts.classes);
  std::vector<std::size_t> visitors(tables.size(), 0);
  for (const std::vector<std::size_t>& c : classes) {
    for (const Errand& errand : errands[c.front()]) ++visitors[errand.table];
  }
  for (std::size_t t = 0; t < tables.size(); ++t) {
    if (shortcuts.idle && visitors[t] >= worth_an_idle_search) find_idle(network, walk, tables[t]);
  }
  const unsigned cores = threads != 0 ? threads : std::max(1u, std::thread::hardware_concurrency());
  std::vector<Outcome> outcomes(walk.faults.size());
  std::atomic<std::size_t> next{0};
  const auto work = [&] {
    Walker walker(circuit, walk, groups, tables, shortcuts);
    for (std::size_t c = next++; c < classes.size(); c = next++) {
      const std::size_t first = classes[c].front();
      outcomes[first] = walker.walk(first, errands[first]);
      for (std::size_t f : classes[c]) {
        if (f != first) outcomes[f] = walker.retold(outcomes[first], f);
      }
    }
  };
  std::vector<std::future<void>> others;
  for (unsigned t = 1; t < cores; ++t) others.push_back(std::async(std::launch::async, work));
  work();
  for (auto& other : others) other.get();
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
    with_ = network_->settle_from(sighting.situation, sighting.before, modes, {}, {});
  }
  for (std::size_t b = 0; b < network_->circuit().branches.size(); ++b) amps_.push_back(network_->current_a(b));
  blown_ = network_->blown();
}

}  // namespace loomproof
