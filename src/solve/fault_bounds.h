// What a watch has no need to be walked for: no state of the switches, reached in whatever way, can violate it.
#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <set>
#include <span>
#include <utility>
#include <vector>

#include "solve/fault_tables.h"
#include "solve/fault_watch.h"
#include "solve/voltage_bounds.h"

namespace loomproof {

/// Of some switches those that never close all their contacts together, as a changeover switch.
Parts exclusive_switches(const Loom&, const Parts& of);

/// Everything that may be on and everything that may be off, at first all of it, is narrowed by what each may see
/// (VoltageBounds) until nothing moves any more: a coil that can have no more than its drop-out voltage is off, what it
/// closes is open, and so on. Every settled state, and every state of a chatter, which is the next of another one of
/// it, obeys each of these steps, so that none is ever lost.
///
/// A throttle reads a voltage inside its window also when all is well. There the proof is another one: current of a
/// two-connected block comes from nowhere else, so a reading whose blocks are those without the fault, line by line, is
/// what it was in a state without a fault with the same sources and contacts in these blocks.
class FaultBounds {
 public:
  /// Keeps references. The circuit is the one that the lines were laid in.
  FaultBounds(const Circuit& circuit, const FaultLines&, const std::vector<WatchResult>&);

  /// What a watch of a throttle reads without a fault, in the states of its table.
  void learn(std::size_t watch, const Table&);

  /// Of some watches, those that a state with the fault in might violate.
  /// @param apart  switches whose positions are looked at one by one where not all of them together show it
  std::vector<std::size_t> left_open(const Fault&, std::span<const std::size_t> watches, const Parts& apart);

  /// Positions of one switch each at which no state with the fault in violates a watch, wherever all others stand.
  /// @param switches  whose positions are looked at
  /// @return by watch of `watches`
  std::vector<std::vector<std::pair<PartIndex, int>>> never_at(const Fault&, std::span<const std::size_t> watches,
                                                               const Parts& switches);

 private:
  /// What may be, and at which positions.
  struct Narrowed {
    std::vector<int> positions;  // by part; -1: any
    LogicState on, off;          // 1: may be on, may be off
  };
  using Setting = std::vector<std::pair<PartIndex, int>>;
  /// The blocks between an input and its reference.
  struct Reading {
    std::vector<std::size_t> lines;     // ascending
    std::vector<std::size_t> switched;  // of them: sources and contacts
    bool plain = true;                  // besides these, resistances only, and dividers in known positions
  };
  struct Known {
    Reading reading;
    std::vector<int> positions;       // by divider
    std::set<std::vector<int>> seen;  // what was on of `switched`, and the charge
  };
  using ByWhen = std::map<Setting, std::vector<std::size_t>>;  // watches
  using Ternary = std::pair<bool, bool>;                       // may be true, may be false

  void lay(const Fault*);
  void set(PartIndex, int position);
  ByWhen open_by_when(const Fault&, std::span<const std::size_t> watches);
  void narrow_at(const Setting&, const Narrowed& from, std::vector<std::size_t>& watches);
  std::vector<Setting> settings_of(const Parts&) const;
  void start();
  void set_by_hand();
  void narrow(std::vector<std::size_t>& watches);
  bool step();
  Ternary holds(const Condition&, PartIndex);
  static void limit(std::uint8_t& on, std::uint8_t& off, Ternary, bool& moved);
  bool may_reach(TerminalIndex a, TerminalIndex b, double volts);
  bool may_exceed(TerminalIndex a, TerminalIndex b, double volts);
  bool may_violate(std::size_t watch);
  bool reads_as_without(std::size_t watch);
  bool find_quiet_throttles();
  Reading reading_of(std::size_t input);
  std::vector<int> divider_positions() const;
  int is_on(std::size_t line, const LogicState&) const;
  bool are_all_seen(const Known&, std::vector<int>& key) const;

  const Circuit& circuit_;
  const FaultLines& lines_;
  const Elements& all_;
  const std::vector<WatchResult>& watches_;
  VoltageBounds bounds_;
  LaidFault laid_;
  std::vector<char> there_;        // by line
  std::vector<std::int8_t> held_;  // by contact: 1 closed, 0 open, -1 by nothing
  Narrowed may_;
  std::vector<char> by_hand_;  // by contact
  BlockWalk walk_;             // over all lines
  std::vector<std::size_t> block_of_;
  std::vector<std::vector<std::size_t>> blocks_;
  std::map<std::size_t, Known> known_;  // by watch
};

}  // namespace loomproof
