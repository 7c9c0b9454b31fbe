// A wire's temperature over a ride, moment by moment: what the judged peak is the highest point of.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "solve/bundle_ride_heat.h"
#include "solve/ride_heat.h"

namespace loomproof {

/// One wire of bundle_ride over one round of the periodic state, at the moments of the stepping; empty where
/// bundle_ride has no answer. Its highest point is the peak of bundle_ride, unless the wire is hotter alone in air.
std::vector<HeatSample> bundle_trace(std::span<const RidingWire> wires, std::span<const Second> durations,
                                     Sleeve sleeve, Celsius ambient, std::size_t wire);

/// The judged temperature (currents raised by 1/default_allowance) of a wire over a case of several steps, alone in air
/// or in one of its bundles, with the currents that wire_heats takes there. Empty when its size is not given, the case
/// has a single step, or it melts.
std::vector<HeatSample> ride_trace(const Loom&, const Circuit&, const std::vector<OperatingPoint>&, const HeatCase&,
                                   WireIndex, std::optional<BundleIndex>);

}  // namespace loomproof
