// Every closing onto a capacitance, with the runs of its precharge.
#pragma once

#include <vector>

#include "solve/closing.h"
#include "solve/precharge_run.h"

namespace loomproof {

struct Charging {
  Closing closing;
  std::vector<Situation> situations;  // see closing_situations(); none without a path around the contact
  std::vector<PrechargeRun> runs;     // by situation
};

/// The situations in which to run it, all without duty: with empty and with full pack the one with the fewest moved
/// switches in which the contact is closed and the capacitance fed, with full pack also the one that draws most. Where
/// the contact never closes, that in which the bus comes highest without it; and, of those that did not settle, the one
/// with the fewest moved switches: a load that stalls the precharge keeps the whole loom from coming to rest. The last
/// is with full pack.
std::vector<Situation> closing_situations(const Circuit&, const Closing&, const std::vector<OperatingPoint>& settled,
                                          const std::vector<OperatingPoint>& troubled);

/// Of all closings() of the loom.
std::vector<Charging> chargings_of(const Circuit&, const CircuitGraph&, const std::vector<OperatingPoint>& settled,
                                   const std::vector<OperatingPoint>& troubled);

}  // namespace loomproof
