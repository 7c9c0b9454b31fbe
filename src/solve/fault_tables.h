// The states that the walk starts from.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <vector>

#include "solve/fault_network.h"
#include "solve/fault_walk.h"
#include "solve/switch_states.h"

namespace loomproof {

/// Switches, by index of their part, ascending.
using Parts = std::vector<std::size_t>;

/// The switches one state ago, and so on back to rest.
struct Step {
  Positions positions;
  std::shared_ptr<const Step> before;
};

/// A settled state without a fault.
struct BaseState {
  Situation situation;
  LogicState logic;
  FaultNetwork::Modes modes;
  std::vector<std::uint8_t> seen;         // what a person sees of it
  bool first = true;                      // of its situation; others differ in what they remember
  std::shared_ptr<const Step> came_from;  // of these others: by the fewest moves
  const BaseState* base = nullptr;  // not settled yet: the one that it follows from by switches that decide nothing
};

/// All states that some switches can bring about; of a wider table not all are settled.
struct Table {
  Parts parts;
  std::vector<BaseState> states;
  bool whole = true;
};

/// What a person sees of a point: by output `torque` 1 or 0, then by light 0 dark, 1 glowing, 2 shining.
void observe(const Circuit&, const OperatingPoint&, std::vector<std::uint8_t>& out);

/// What a state that is not settled yet settles to, without a fault; nothing where it does not.
std::optional<BaseState> settled_from(FaultNetwork&, const BaseState&);

/// How the switches stood on the way from rest to a state that remembers; empty for one that rest leads to at once.
History history_of(const BaseState&);

/// Switches away from rest.
std::size_t moved_switches(const Positions&);

/// Breadth first along single switch moves, and every switch state from rest; without a fault.
Table explore(FaultNetwork&, const Parts&);

/// A table of the same states with switches besides that decide nothing; none of them is in it yet.
Table wider(const Loom&, const Table& base, const Parts& more);
/// Puts the states of a wider table into it.
/// @param base       must outlive it
/// @param is_needed  tells the positions of those that are to be settled at once
void fill(FaultNetwork&, const Table& base, Table& wide, const std::function<bool(const Positions&)>& is_needed);

}  // namespace loomproof
