// What must never be, derived from the parts: for the walk to look at in every situation, without and with each fault.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "solve/brake_lamps.h"
#include "solve/fault_cone.h"

namespace loomproof {

/// A traction bus below this is touch-safe for its voltage alone (voltage class A of ISO 6469-3: up to 60 V DC).
inline constexpr double touch_safe_v = 60;
/// Up to this a terminal that must not be live counts as dead (common practice, no source).
inline constexpr double dead_v = 1.0;

struct Watch {
  enum class What : std::uint8_t {
    torque,     // `index`: output; on, while a switch stands where it takes the torque away
    throttle,   // `index`: input; above zero inside its window with the grip at rest
    bus,        // `index`: load of a motor controller; more than touch_safe_v on it, where a switch takes it away
    contactor,  // `index`: coil; on, where a switch opens it
    level,      // `index`: input; above its absolute limit
    must,       // `index`: of Loom::musts that say `never`
    lamp,       // `index`: load, a brake lamp; dark while a controller that says it lights it brakes by its motor
  } what = What::torque;
  std::size_t index = 0;
  std::vector<std::pair<PartIndex, int>> when;  // positions as told, not as a stuck switch stands
};

/// What the walk without faults tells of the switches: which positions ever allow what.
struct Allowed {
  // by output, coil and bus load: by part and position: it was on there at least once
  std::vector<std::vector<std::vector<char>>> output, coil, bus;
};

Allowed nothing_allowed(const Loom&);
void note_allowed(Allowed&, const Circuit&, const Situation&, const OperatingPoint&);

/// "What takes the torque away without a fault": for every output `torque`, contactor coil and bus, each position of a
/// switch at which it never was on although it was at another one of that switch. Throttle grips are no switches here.
/// @param from_rest  seen with every switch state taken from rest
/// @param ever       seen whatever the way there. What is on at a key that is off because it was on before is no leave
///                   to be on; a button that springs back (rest position `released`) may leave behind what it started.
std::vector<Watch> derive_watches(const Loom&, const Allowed& from_rest, const Allowed& ever);

/// Watches that need no walk to be known: throttle inputs, input limits, musts.
std::vector<Watch> fixed_watches(const Circuit&);

/// A watch of every brake lamp, where a controller's lamp driver is wired (see find_brakes).
std::vector<Watch> lamp_watches(const Loom&, std::span<const BrakeView>);

std::vector<Target> targets_of(const Watch&, const Circuit&);

bool matches(const Watch&, const std::vector<std::int8_t>& told);

/// The value that is too much (volts; 1 for a state), or nothing when all is well.
std::optional<double> violation(const Watch&, const Circuit&, const OperatingPoint&);

/// Voltage of a terminal against the lowest negative pole of its piece. The negative of a charger that hangs on a pack
/// by its positive pole alone does not count: it stands below everything else, and nothing is fed by that.
double live_v(const Circuit&, const OperatingPoint&, TerminalIndex);

}  // namespace loomproof
