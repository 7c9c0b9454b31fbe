// Which accessories together make a current or a voltage largest or smallest.
#pragma once

#include <set>
#include <vector>

#include "solve/operating_point.h"
#include "solve/switch_states.h"

namespace loomproof {

/// Where groups of accessories meet at a supply alone, their currents add in the wires that they share, but for the little
/// that the supply gives way. So what a group alone changes of every current and voltage tells which groups together make
/// it largest and smallest (superposition, Kirchhoff's laws of a linear network). Groups that together add less than half
/// a percent to a reading are not followed for it.
///
/// @param alone  by set of `states.sets`: the point at which the vehicle settles with it, everything else the same;
///               nullptr where it does not
/// @return  sets, each with no part moved that is no accessory
std::set<Positions> sums_of(const Circuit&, const SwitchStates& states,
                            const std::vector<const OperatingPoint*>& alone);

/// The groups together that draw most from the supplies, and how much that is.
struct Heaviest {
  Positions set;
  double amps = 0;
};
Heaviest heaviest_of(const SwitchStates&, const std::vector<const OperatingPoint*>& alone);

/// Every single set and no set, with all other groups where they draw most.
std::vector<Positions> beside_heaviest(const SwitchStates&, const Positions& heaviest);

}  // namespace loomproof
