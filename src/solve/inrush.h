// What a contact meets when it closes onto a capacitance or a cold lamp.
#pragma once

#include "units/quantity.h"

namespace loomproof {

/// Closing a contact between a source and a capacitance that stands `step` volts below it, through `loop` resistance.
/// i(t) = (dV/R) exp(-t/RC): peak dV/R, time constant RC, energy lost in the loop C dV^2/2 whatever R,
/// let-through of the whole surge dV^2 C/(2R). Inductance is left out: the peak is an upper bound.
struct CapacitorInrush {
  Ampere peak;
  Second time_constant;
  Joule energy;
  double let_through_a2s = 0;
};
CapacitorInrush capacitor_inrush(Volt step, Ohm loop, Farad capacitance);

/// Voltage of a capacitance charged through a resistance, `time` after closing: V (1 - exp(-t/RC)).
Volt charging_voltage(Volt source, Ohm loop, Farad capacitance, Second time);

/// Time at which it reaches `reached`; infinite at or above the source, 0 at or below 0 V.
Second charging_time(Volt source, Ohm loop, Farad capacitance, Volt reached);

/// Steady current of a lamp, P/V.
Ampere lamp_steady_current(Watt power, Volt rated);

/// Cold inrush of filament lamps as multiple of the steady current: 10..12 on public pages, 15 the upper typical
/// (seen). The upper one is the demanding choice for a contact.
inline constexpr double lamp_inrush_multiple = 15;

/// Current of a filament lamp after closing: steady * (1 + (multiple - 1) exp(-t/tau)). tau = 1.67 ms: with 12 times it
/// falls to twice in 4 ms, the middle of the published 3..5 ms.
Ampere lamp_current(Ampere steady, Second time, double multiple = lamp_inrush_multiple);

/// Let-through of a surge of cold lamps beyond what flows once they are warm, A2s: the integral over lamp_current of
/// I^2 less its steady part. `through` is the warm current, of the lamps and of all else; `extra` is how much more the
/// lamps draw at first (steady * (multiple - 1), summed): tau (2 I dI + dI^2 / 2).
double lamp_surge_let_through_a2s(Ampere through, Ampere extra);

}  // namespace loomproof
