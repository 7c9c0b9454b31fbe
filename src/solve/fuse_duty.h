// What the duty asks of every fuse.
#pragma once

#include <string>
#include <vector>

#include "solve/circuit.h"
#include "solve/operating_point.h"
#include "solve/protect.h"

namespace loomproof {

/// One ride, or one state held for ever, as a fuse sees it: largest current of every step over all switch states.
struct FuseDuty {
  std::string when;                    // the step with the largest current, in words
  std::vector<DutyStretch> stretches;  // one stretch of an hour for a state held for ever
};

/// By fuse: every ride, every duty point outside rides, and the vehicle without duty.
std::vector<std::vector<FuseDuty>> fuse_duties(const Loom&, const Circuit&, const std::vector<OperatingPoint>&);

}  // namespace loomproof
