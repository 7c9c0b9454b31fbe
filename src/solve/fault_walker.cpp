// One fault through all the states that it can meet.
#include "solve/fault_walker.h"

#include <algorithm>
#include <iterator>
#include <map>
#include <optional>
#include <utility>

#include "solve/announcements.h"

namespace loomproof {

bool tells_of(const Suspect& suspect, const Positions& at) {
  for (std::size_t p = 0; p < at.size(); ++p) {
    if (at[p] != 0 && !std::binary_search(suspect.decide.begin(), suspect.decide.end(), p)) return false;
  }
  return std::none_of(suspect.never.begin(), suspect.never.end(), [&](const auto& position) {
    return at[position.first.value] == static_cast<std::int8_t>(position.second);
  });
}

class Walker::Inside {
 public:
  Inside(const Circuit& circuit, const FaultNetwork& sound, const FaultWalk& walk,
         const std::vector<WatchGroup>& groups, const std::vector<Table>& tables, const WalkShortcuts& shortcuts)
      : walk_(walk),
        groups_(groups),
        tables_(tables),
        shortcuts_(shortcuts),
        network_(circuit, walk.faults),
        best_(walk.watches.size()) {
    network_.forget_all(!shortcuts.memory);
    if (shortcuts.memory) network_.add_base(sound);
  }

  Outcome walk(std::size_t fault, const std::vector<Errand>& errands, const std::vector<Suspect>& suspects) {
    const Fault& f = walk_.faults[fault];
    Outcome out;
    out.unsettled.assign(walk_.watches.size(), 0);
    outcome_ = &out;
    fault_ = fault;
    signs_ = nullptr;
    std::fill(best_.begin(), best_.end(), std::optional<std::size_t>());
    network_.apply(&f);
    for (const Errand& errand : errands) {
      const std::vector<BaseState>& states = tables_[errand.table].states;
      const Concerns& concerns = concerns_of(errand);
      for (std::size_t s = 0; s < states.size(); ++s) {
        concerned_.clear();
        for (const Suspect& suspect : suspects) {
          if (std::binary_search(concerns[s].begin(), concerns[s].end(), suspect.watch) &&
              (!shortcuts_.bounds || tells_of(suspect, states[s].situation.positions)))
            concerned_.push_back(suspect.watch);
        }
        if (!concerned_.empty()) visit(states[s]);
      }
    }
    concerned_.clear();
    if (out.found.empty()) {
      network_.apply(nullptr);
      return out;
    }
    Announcements signs(*network_.circuit().loom);
    signs_ = &signs;
    for (const Found& found : out.found) look_for_signs(errands, walk_.watches[found.watch].watch);
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
  using Concerns = std::vector<std::vector<std::size_t>>;  // by state of a table: the watches that match it

  bool is_of_the_switch(const Watch& watch, const Fault& fault) const {
    const auto part = part_of(*network_.circuit().loom, fault);
    return part && std::any_of(watch.when.begin(), watch.when.end(), [&](const auto& w) { return w.first == *part; });
  }

  // The state without the fault, settled when it is first asked for; null where it does not settle.
  const BaseState* settled(const BaseState& state) {
    if (state.base == nullptr) return &state;
    const auto [at, fresh] = settled_.try_emplace(&state, std::nullopt);
    if (fresh) {
      network_.apply(nullptr);
      at->second = settled_from(network_, state);
      network_.apply(&walk_.faults[fault_]);
    }
    return at->second ? &*at->second : nullptr;
  }

  // How the fault shows where the watch is not concerned: at the first such position at which it does.
  void look_for_signs(const std::vector<Errand>& errands, const Watch& watch) {
    for (const auto& [part, position] : watch.when) {
      for (std::size_t k = 0; k < network_.circuit().loom->part(part).positions.size(); ++k) {
        if (static_cast<int>(k) == position || signs_->all_noted(part, k)) continue;
        signs_->seek(part, k);
        for (const Errand& errand : errands) {
          for (const BaseState& state : tables_[errand.table].states) {
            if (signs_->shows(part, k)) return;
            if (state.situation.positions[part.value] != static_cast<std::int8_t>(k)) continue;
            if (const BaseState* here = settled(state)) visit(*here);
          }
        }
        if (signs_->shows(part, k)) return;
        signs_->all_noted(part, k) = true;
      }
    }
  }

  // The same for every fault on this errand.
  const Concerns& concerns_of(const Errand& errand) {
    const auto [at, fresh] = concerns_.try_emplace(errand);
    if (!fresh) return at->second;
    for (const BaseState& state : tables_[errand.table].states) {
      std::vector<std::size_t>& concerned = at->second.emplace_back();
      for (std::size_t w : groups_[errand.group].watches) {
        if (matches(walk_.watches[w].watch, state.situation.positions)) concerned.push_back(w);
      }
    }
    return at->second;
  }

  // Where the way from rest ends in the very state of the logic in which the fault struck, that state is settled
  // already: the same network, at rest in the same logic.
  void visit(const BaseState& state) {
    bool had = false;
    if (state.first) {
      const OperatingPoint& point =
          network_.settle_from_rest(state.situation, shortcuts_.hints ? &state.modes : nullptr);
      had = shortcuts_.meeting && is_of(state, point);
      if (had) ++outcome_->points;
      look_all(state, point, !had);
    }
    if (!had) look_all(state, network_.settle_from(state.situation, state.logic, state.modes), false);
  }

  bool is_of(const BaseState& state, const OperatingPoint& point) {
    if (!point.trouble.empty() || !network_.blown().empty()) return false;
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
    if (signs_ != nullptr) {
      observe(network_.circuit(), point, now_);
      darken();
      signs_->note(state, now_);
    }
    for (std::size_t w : concerned_) {
      const auto value = violation(walk_.watches[w].watch, network_.circuit(), point);
      if (!value) continue;
      const std::size_t moved = moved_switches(state.situation.positions);
      if (best_[w] && !is_nearer(outcome_->found[*best_[w]].sighting, state, moved, from_rest)) continue;
      Sighting seen;
      seen.fault = fault_;
      seen.situation = state.situation;
      if (!from_rest) {
        seen.before = state.logic;
        seen.history = history_of(state);
      }
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
  const std::vector<WatchGroup>& groups_;
  const std::vector<Table>& tables_;
  const WalkShortcuts shortcuts_;
  FaultNetwork network_;
  std::vector<std::optional<std::size_t>> best_;  // by watch, into the outcome's found
  std::map<Errand, Concerns> concerns_;
  std::map<const BaseState*, std::optional<BaseState>> settled_;  // that no suspect asked for
  std::vector<std::size_t> concerned_;                            // in the state under way
  std::vector<std::uint8_t> now_;
  LogicState forced_;
  Outcome* outcome_ = nullptr;
  Announcements* signs_ = nullptr;
  std::size_t fault_ = 0;
};

Walker::Walker(const Circuit& circuit, const FaultNetwork& sound, const FaultWalk& walk,
               const std::vector<WatchGroup>& groups, const std::vector<Table>& tables, const WalkShortcuts& shortcuts)
    : inside_(std::make_unique<Inside>(circuit, sound, walk, groups, tables, shortcuts)) {}

Walker::~Walker() = default;

Outcome Walker::walk(std::size_t fault, const std::vector<Errand>& errands, const std::vector<Suspect>& suspects) {
  return inside_->walk(fault, errands, suspects);
}

Outcome Walker::retold(Outcome outcome, std::size_t fault) const {
  return inside_->retold(std::move(outcome), fault);
}

}  // namespace loomproof
