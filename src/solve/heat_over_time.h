// One wire over time: a repeated ride, a single step of current, and how long it bears an overcurrent.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "solve/transient_heat.h"
#include "solve/wire_heat.h"
#include "units/quantity.h"

namespace loomproof {

/// A current held for a time above zero.
struct RideStep {
  Ampere current;
  Second duration;
};

/// The hottest moment of a ride that is repeated for ever.
struct RideHeat {
  Celsius peak;          ///< at the conductor
  std::size_t step = 0;  ///< index of the step in which it falls
  Second moment;         ///< since the ride's start
};

/// A point of the temperature over a ride.
struct HeatSample {
  Second moment;
  Celsius conductor;
};

/// Peak conductor temperature in the periodic state of a repeated ride.
/// Currents are taken as given: pass judged(current) to judge (solve/wire_heat.h).
/// @param ride  steps in order; a step of no current cools
/// @return nullopt when the ride is empty, a duration is not above zero, or no periodic state lies below copper's
///         melting point
std::optional<RideHeat> periodic_peak(const WireBuild& build, std::span<const RideStep> ride, Celsius ambient);

/// The periodic state itself as `points` samples, evenly spaced, the ride's start and end included; empty where
/// periodic_peak has no answer.
std::vector<HeatSample> periodic_trace(const WireBuild& build, std::span<const RideStep> ride, Celsius ambient,
                                       std::size_t points);

/// Conductor temperature after a constant current, from a wire settled at `start`.
/// @return nullopt above copper's melting point
std::optional<Celsius> temperature_after(const WireBuild& build, Ampere current, Second duration, Celsius start,
                                         Celsius ambient);

/// How long a constant current takes to bring the conductor from a settled `start` to `limit`.
/// Currents are taken as given: pass judged(current) to judge, as everywhere.
/// @return 0 s when it starts there (or the current is no number); infinity exactly when current <= ampacity(build,
/// limit, ambient) Short times are those of IEC 60949 (copper alone); error of the stepping below 0.5 %.
Second time_to_temperature(const WireBuild& build, Ampere current, Celsius start, Celsius ambient, Celsius limit);

/// How long one wire bears an overcurrent, for the shadow of a fuse's curve.
///
/// Damage is the earlier of: the short-circuit limit is reached; the overload limit has been passed for 5 s. The
/// short-circuit limits of IEC 60364-5-54 hold for 5 s at most, so this joins both without a jump, and the time never
/// grows with the current.
struct WireEndurance {
  WireBuild build;
  Celsius start;  ///< conductor temperature before, settled
  Celsius ambient;
  Celsius overload_limit;       ///< borne for hours
  Celsius short_circuit_limit;  ///< borne for 5 s
};

/// The curve of a wire with that insulation, limits from solve/insulation.h; nullopt for an unknown name or no area.
std::optional<WireEndurance> wire_endurance(SquareMillimetre area, std::string_view insulation, Celsius start,
                                            Celsius ambient);

/// Seconds until damage at a constant current, computed afresh (a few microseconds, no table); infinity for never.
class DamageTimes {
 public:
  explicit DamageTimes(const WireEndurance&);
  Second operator()(Ampere current) const;

 private:
  WireEndurance curve_;
  Ampere bears_overload_, bears_short_circuit_;  // for ever
  std::optional<WireTransient> wire_;            // none: it has no insulation's wall
  WireState start_;
};

/// The largest current that never damages.
Ampere harmless_current(const WireEndurance& curve);

}  // namespace loomproof
