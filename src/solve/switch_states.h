// The switch states that are walked through, sorted into families.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "solve/circuit.h"

namespace loomproof {

using Positions = std::vector<std::int8_t>;  // by part; 0 for parts that are not operated

/// States that differ only in switches that decide nothing (see deciding_parts); the first has most of these at rest.
struct Family {
  Positions key;  // with every switch that decides nothing at rest
  std::vector<Positions> members;
};

/// Positions of accessories alone.
struct AccessorySet {
  Positions positions;               // 0 for all other parts
  std::optional<std::size_t> group;  // the only one that is moved; none at rest and for what a duty point fixes
};

struct SwitchStates {
  std::vector<Family> families;       // by ascending key
  std::vector<std::size_t> deciding;  // parts
  /// Where there are too many states to walk one by one: the groups of accessories (see accessories_of), and what of
  /// them each family has as its first members, in the same order. Empty otherwise.
  std::vector<std::vector<std::size_t>> accessories;
  std::vector<AccessorySet> sets;
  std::vector<char> follows;                         // by coil: whether it only follows a switch of a group
  std::vector<std::vector<std::uint8_t>> pulled_in;  // by set and coil: whether it is on with it anywhere; known later
  std::size_t possible = 0;
  std::size_t walked = 0;
  std::string left_out;  // in words; empty when exhaustive
};

/// @param most  states that are walked one by one
SwitchStates switch_states(const Circuit&, std::size_t most);

/// More members for every family; those that it has already are passed over. False, and nothing is added, where that
/// would be more states than are ever walked.
bool add_sets(SwitchStates&, const std::vector<Positions>& sets);

/// Number of positions of the parts together; where it is beyond 2^40, any number beyond.
std::size_t count_states(const Loom&, const std::vector<std::size_t>& parts);

/// The family of a state, or nullptr where it is not walked.
const Family* find_family(const SwitchStates&, const Positions& key);

}  // namespace loomproof
