// The smallest option of every value that any holding choice can have, and what asks for it.
#pragma once

#include <functional>

#include "size/cause.h"
#include "size/trial.h"

namespace loomproof {

/// Runs a trial of a choice, or finds it among the last two; good until the next call but one.
using TryChoice = std::function<const Trial&(const Choice&)>;

struct LowerEnds {
  Choice lows;
  std::vector<Clause> clauses;  // unconditional: any = {value, lows[value]}; above an end where the stock is too small
};

/// Ratings first, with every wire at its largest: duty and precharge. Then every wire by halving its range, all at
/// once, with the fuses at their lower ends: a smaller fuse asks least of a wire. A wire that its bundle keeps warm is
/// tried once more with its mates at their largest, since only what fails even then is forced.
LowerEnds lower_ends(const Ground&, const TryChoice&);

}  // namespace loomproof
