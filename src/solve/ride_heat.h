// How hot every wire of the loom gets: the duty's currents turned into temperatures, alone or in its bundle.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "solve/circuit.h"
#include "solve/operating_point.h"
#include "solve/wire_heat.h"

namespace loomproof {

/// The hottest state of one wire. Temperatures are judged ones: every current raised by 1/default_allowance.
struct WireHeat {
  enum class State {
    computed,
    no_size,        // the wire's size is not given
    no_insulation,  // computed with the assumed insulation; the verdict stays undecided
    melts,          // no steady state below copper's melting point
  } state = State::computed;
  Celsius peak{};                     // judged, at the conductor
  Celsius limit{};                    // of its insulation
  Ampere current{};                   // in the hottest step, as carried
  std::optional<Second> lasts;        // how long that step lasts; none: for ever
  std::string when;                   // "full pack, key on, climb" or "ride 'ride', climb"
  std::optional<BundleIndex> bundle;  // in which it is hottest; none: alone in air
  Celsius around{};                   // of what surrounds it: the air, or the inside of its bundle, in that state
};

/// Currents of one step of a ride, or of a state held for ever, for all wires.
struct HeatStepCase {
  std::string when;
  std::optional<Second> lasts;        // none: for ever
  std::vector<double> wire_a;         // largest magnitude a wire carries in this step, over all switch states
  std::vector<std::size_t> point_of;  // the point in which that was
};

/// One thing that the wires must stand: steps repeated for ever, or a single state held for ever.
struct HeatCase {
  std::string name;
  std::vector<HeatStepCase> steps;
};

/// Cases from the settled points: each ride as its steps; every duty point outside a ride and the vehicle without duty
/// held for ever (a duty point with `for` outside a ride is held for ever as well: nothing says when it comes again).
std::vector<HeatCase> heat_cases(const Loom&, const Circuit&, const std::vector<OperatingPoint>&);

/// In a bundle the currents of the switch state that heats the bundle most count for the body, a wire's own largest
/// current for itself. The hottest of all its bundles and cases decides.
std::vector<WireHeat> wire_heats(const Loom&, const Circuit&, const std::vector<OperatingPoint>&,
                                 const std::vector<HeatCase>&);

}  // namespace loomproof
