// Which situations there are, and every one of them settled.
#pragma once

#include <string>
#include <vector>

#include "solve/circuit.h"
#include "solve/operating_point.h"

namespace loomproof {

/// Largest number of switch states that is walked through one by one.
inline constexpr std::size_t most_switch_states = 4096;

struct Situations {
  std::vector<OperatingPoint> points;    // settled
  std::vector<OperatingPoint> troubled;  // did not settle; `trouble` says why
  std::vector<bool> duty_reached;        // by duty point
  std::size_t possible = 0;              // switch states x pack charges
  std::size_t covered = 0;
  std::string left_out;  // in words; empty when exhaustive
};

/// Every combination of the switches' positions, with a full and an empty pack; in each, the vehicle without duty and
/// every duty point that is possible there and does not fix a switch otherwise. Above most_switch_states combinations:
/// the resting state, every single and every pair of moves from it, and every state of the duty's own `with`; what that
/// leaves out is said in `left_out`.
Situations settle_all(const Circuit&);

/// By part: whether moving it can change what a coil, an input, a converter, a source or the drive sees, other than by
/// the current that more consumers draw. A switch that feeds consumers only does not.
std::vector<char> deciding_parts(const Circuit&);

}  // namespace loomproof
