// Which situations there are, and every one of them settled.
#pragma once

#include <string>
#include <vector>

#include "solve/circuit.h"
#include "solve/operating_point.h"

namespace loomproof {

/// Largest number of switch states that is walked through one by one.
inline constexpr std::size_t most_switch_states = 4096;

/// The same, where accessories are walked group by group instead of in every combination.
inline constexpr std::size_t most_split_states = 32768;

struct Situations {
  std::vector<OperatingPoint> points;    // settled
  std::vector<OperatingPoint> troubled;  // did not settle; `trouble` says why
  std::vector<bool> duty_reached;        // by duty point
  std::size_t possible = 0;              // switch states x pack charges
  std::size_t covered = 0;
  std::string left_out;    // in words; empty when nothing was
  std::string in_between;  // in words: why those that were not settled need not be; empty where all were
};

/// Every combination of the switches' positions, with a full and an empty pack; in each, the vehicle without duty and
/// every duty point that is possible there and does not fix a switch otherwise. Above `most` combinations
/// accessories (see accessories_of) are walked group by group: each alone, each beside all others at their heaviest,
/// and the groups together that make some current or voltage largest or smallest (see sums_of); `in_between` says so.
/// Where even that is too much: the resting state, every single and every pair of moves from it, and every state of the
/// duty's own `with`; what that leaves out is said in `left_out`.
///
/// @param most  combinations that are walked one by one
Situations settle_all(const Circuit&, std::size_t most = most_switch_states);

}  // namespace loomproof
