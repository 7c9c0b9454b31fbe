// The test sheet: what to measure before the pack is there, then the first power-up.
#pragma once

#include "show/paper.h"

namespace loomproof {

/// Continuity of every wire, isolation, polarity, then the stages of bench_stages(), each reading with its tolerance.
Paper test_sheet(const Solved&);

/// Half the width of the band in which a voltage passes: 2 % of the reading and 0.1 V, for the meter (about 1 %) and
/// what a supply or a regulator is off (about 1 %); common practice, no source.
Volt reading_tolerance(Volt expected);

/// Largest resistance that a hand meter may show for a wire that is whole, leads zeroed: 0.5 ohm, or twice the computed
/// value where that is more; common practice, no source.
Ohm continuity_limit(Ohm expected);

/// Smallest isolation of the traction side for its largest voltage: 100 ohm/V. UN R136 5.1.3.1 and ISO 6469-3 for DC
/// (tests/reference/voltage_class_limits.csv).
Ohm isolation_limit(Volt full);

}  // namespace loomproof
