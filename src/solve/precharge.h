// How a bus capacitance charges through a resistor while loads hang on the bus, and what is left when the contactor
// closes.
#pragma once

#include <optional>
#include <vector>

#include "units/quantity.h"

namespace loomproof {

/// A source, a precharge resistor and the bus behind it. C dv/dt = (V - v)/R - v/R_L - I_leak - P/v, R = source +
/// resistor.
struct PrechargeCircuit {
  Volt source;              // open-circuit, > 0
  Ohm source_resistance;    // pack and leads, >= 0
  Ohm resistor;             // precharge resistor, > 0
  Farad capacitance;        // of the bus, > 0
  std::optional<Ohm> load;  // resistive load on the bus
  Ampere leakage;           // constant-current load, drawn while v > 0, >= 0
  Watt power;               // constant-power load, drawn once v has reached starts_at, until v falls below stops_at
  Volt starts_at;           // >= 0
  Volt stops_at;            // at most 98 % of starts_at is taken; 0: half of starts_at is taken
  Volt initial;             // bus voltage at the start, >= 0
};

/// One point of the transient.
struct BusPoint {
  double time_s;
  double voltage_v;
};

/// The transient from 0 to `until`. Stretches without constant-power load in closed form, others by an adaptive
/// Runge-Kutta 4(5) step (relative tolerance 1e-8); switching of the load is located to 1e-9 of its step.
/// Points ascend in time, at least `points` of them; the last is at `until`.
std::vector<BusPoint> precharge_transient(const PrechargeCircuit&, Second until, int points = 400);

/// What a precharge does, without regard to when the contactor closes.
struct PrechargeOutcome {
  Volt final;                         // where the bus settles; its lowest value when it hunts
  bool hunts = false;                 // the constant-power load starts, pulls the bus down and stops, again and again
  bool stalls = false;                // settles or hunts below 95 % of the source
  std::optional<Second> to_fraction;  // time to the asked fraction of the source; nullopt: never
  Watt peak_resistor_power;           // in the resistor, at the start: ((V - v0)/R)^2 R_p
  Watt held_power;                    // in the resistor when the bus is held at `final` for ever
  Watt shorted_power;                 // in the resistor when the bus is shorted for ever: (V/R)^2 R_p
  Ohm total;                          // source and resistor
  Second time_constant;               // R C without loads
};
PrechargeOutcome precharge_outcome(const PrechargeCircuit&, double fraction = 0.95);

/// Heat in the precharge resistor from the start to `until`, J. C V^2/2 * R_p/R for an unloaded bus charged fully.
Joule resistor_energy(const PrechargeCircuit&, Second until);

/// Bus voltage, surge through the contactor and its energy when that closes `delay` after precharge began.
struct ClosingSurge {
  Volt bus;                   // just before
  Volt residual;              // source - bus
  Ampere peak;                // residual / source resistance; infinite when that is 0
  Joule energy;               // C residual^2 / 2
  double time_constants = 0;  // delay / RC
};
ClosingSurge closing_surge(const PrechargeCircuit&, Second delay);

/// A constant-power load can be fed through R only if P <= V^2/(4R); more exactly, with a resistive load and leakage,
/// if the balance (V - v)/R - v/R_L - I = P/v has a root. The higher root is where it settles; nullopt: no root.
std::optional<Volt> loaded_balance(const PrechargeCircuit&);

/// A resistor that does what is wanted: ohms from the E12 series, watts from usual sizes, pulse in joule.
struct ResistorProposal {
  Ohm ohms;
  Watt watts;      // next usual size at or above what it dissipates for ever with the bus shorted (or at `final`)
  Joule pulse;     // energy of one precharge, and of a shorted bus for `timeout` when one is given
  Second reaches;  // time to the fraction
};

/// The largest E12 value up to 100 kohm that reaches `fraction` within `wanted` with the loads there are; the largest
/// because it has the least heat. `timeout`: when precharge is broken off for want of voltage; nullopt: never, so the
/// watts are those of a shorted bus for ever. std::nullopt: no value does it (the loads hold the bus down).
std::optional<ResistorProposal> propose_resistor(const PrechargeCircuit&, Second wanted, std::optional<Second> timeout,
                                                 double fraction = 0.95);

}  // namespace loomproof
