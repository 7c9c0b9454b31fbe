// Coils, inputs, conditions and contacts: what the voltages decide.
#pragma once

#include "solve/operating_point.h"

namespace loomproof {

/// The state of a vehicle at rest: no coil on, contacts as their conditions then say.
LogicState resting_logic(const Loom&, const Situation&);

/// What the logic becomes when it sees the voltages of `point` (whose own `logic` is the state before: coils and inputs
/// hold between their two thresholds).
LogicState next_logic(const Circuit&, const OperatingPoint& point);

/// Names of what differs between two states, `main.coil, drive.torque`; for the account of a chatter.
std::string changes_between(const Loom&, const LogicState&, const LogicState&);

}  // namespace loomproof
