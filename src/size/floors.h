// What a size must be for reasons that no rule computes from settled states.
#pragma once

#include <vector>

#include "size/problem.h"
#include "size/trial.h"

namespace loomproof {

/// A precharge branch carries its current for a moment only, so that no settled state shows it: a resistor bears
/// V^2/R for ever (a shorted bus or a stuck relay) and one charge of the largest capacitance, C V^2/2; fuses and
/// contacts in series with it carry V/R. V is the full-charge voltage of the traction circuit.
std::vector<Clause> precharge_floors(const Ground&, const Choice& now, const Corner&);

}  // namespace loomproof
