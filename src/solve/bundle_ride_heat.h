// A bundle over a repeated ride: every wire on its own copper, all of them on the bundle's body.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "solve/bundle_heat.h"
#include "solve/bundle_transient_heat.h"
#include "solve/heat_over_time.h"

namespace loomproof {

/// A wire of the bundle with its current in each step of the ride.
struct RidingWire {
  WireBuild build;
  std::vector<Ampere> currents;  ///< one a step, 0 A where it rests
};

/// Peak conductor temperature of every wire in the periodic state of a repeated ride, in the order given.
/// Currents are taken as given: pass judged(current) to judge.
/// @param durations  of the steps, each above zero
/// @return nullopt for all when the ride is empty, a wire has not one current a step, a duration is not above zero, or
///         there is no periodic state below copper's melting point
///
/// Two levels: each loaded wire's copper, through its own insulation, on the core of the body; the body's core, which
/// holds all insulation and the idle copper, through the inside of the bundle and the sleeve, on still air. The inside
/// resistance is that of bundle_temperatures (hottest producers in the core) for the step's heat together with the
/// ride's mean heat, so that a held load ends exactly there. No wire is taken for cooler than it is alone in air.
std::optional<std::vector<RideHeat>> bundle_ride(std::span<const RidingWire> wires, std::span<const Second> durations,
                                                 Sleeve sleeve, Celsius ambient);

/// The ride as the stepping kernel takes it: one load a step, and a start near the periodic state (the mean load's).
struct BundleRide {
  BundleTransient body;
  std::vector<BundleLoad> loads;
  std::vector<std::vector<double>> places;  ///< of every wire, idle ones too: places[step][wire]
  std::vector<std::size_t> loaded;          ///< indices of the wires that carry anything in the ride
  BundleState guess;
};

/// @return nullopt when the mean load has no steady state below copper's melting point
std::optional<BundleRide> bundle_ride_of(std::span<const RidingWire> wires, std::span<const Second> durations,
                                         Sleeve sleeve, Celsius ambient);

}  // namespace loomproof
