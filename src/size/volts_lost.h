// Volts lost on the way to a consumer in one situation, split over the wires and fuses that lie on it.
#pragma once

#include <optional>

#include "size/lookup.h"
#include "size/problem.h"
#include "size/trial.h"

namespace loomproof {

/// The budget of an obligation about too little voltage (voltage-drop, or a floor of supply-voltage), with the currents
/// of the trial. `takes` of a wire is I R(size), of a fuse I R(rating) where its resistance follows its rating.
/// @return nullopt when the obligation is about something else, or no free value lies on the way
std::optional<Budget> budget_of(const Ground&, const Lookup&, const Corner&, const Obligation&);

}  // namespace loomproof
