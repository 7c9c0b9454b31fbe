// The primitives that parts are made of, as the network and the rules see them.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "model/index.h"
#include "model/place.h"

namespace loomproof {

/// One number that a primitive needs: its value in base units if known, and what the user would write to give it.
struct Datum {
  std::optional<double> value;
  std::string attribute;  // `breaks` of the part; empty when the catalogue fixes it
  Place at;
  bool assumed = false;

  explicit operator bool() const { return value.has_value(); }
  double operator*() const { return *value; }
};

/// When a contact is closed or an output is given; evaluated with the part's own inputs, coils and position.
struct Condition {
  enum class Op { always, all, any, invert, input, output, coil, position, powered } op = Op::always;
  std::vector<Condition> of;
  std::size_t index = 0;       // into Elements::inputs, outputs or coils
  std::vector<int> positions;  // of the part
  TerminalIndex pos, neg;      // powered: the voltage between these ...
  Datum above_v;               // ... is at least this
};

struct Element {
  PartIndex part;
  std::string name;  // of the primitive inside its kind
};

enum class Zone { none, signal, low_voltage, traction };

/// Voltage source with inner resistance; a section of a pack between two used taps is one Source, and all sections of
/// a part share their numbers in proportion to `share`.
struct Source : Element {
  TerminalIndex pos, neg;
  Datum full_v, nominal_v, empty_v, ohm;
  Datum limit_a;  // largest current that it gives, where it limits by itself
  Datum continuous_a, peak_a, peak_s, charge_a, capacity_ah;  // what it stands, where the part says so
  bool sinks = true;  // takes reverse current (a battery does, a converter output does not)
  double share = 1;
  Zone zone = Zone::none;
  Condition when;
};

/// DC-DC converter: draws constant power on the input for what the output gives.
struct Converter : Element {
  TerminalIndex in_pos, in_neg, out_pos, out_neg;
  Datum low_v, high_v, volts_v, limit_a, efficiency, idle_w;
  Condition when;
};

struct Resistance : Element {
  TerminalIndex a, b;
  Datum ohm;
  Datum watts_w, pulse_j;
};

/// Potentiometer or ratiometric sensor: total resistance split at `tap` by a share that depends on the part's position.
struct Divider : Element {
  TerminalIndex top, tap, bottom;
  Datum ohm;
  std::vector<Datum> share;  // per position, 0 = at bottom, 1 = at top
};

struct Capacitance : Element {
  TerminalIndex a, b;
  Datum farad;
};

struct Diode : Element {
  TerminalIndex anode, cathode;
  Datum forward_v, ohm, carries_a, blocks_v;
};

struct Fuse : Element {
  TerminalIndex a, b;
  Datum rated_a, volts_v, breaks_a, breaks_v, ohm;
  std::string curve;  // blade, bolt-in, cartridge, breaker; empty = not given
};

struct Contact : Element {
  TerminalIndex a, b;
  Condition closed_when;
  Datum ohm, carries_a, makes_a, breaks_a, breaks_v, volts_v;
  Datum peak_a, peak_s;           // what it carries for a while
  Datum after_s;                  // closes this long after its condition has come true
  Datum within_v;                 // and not before the bus has come this near to its source
  Datum opens_after_s;            // opens again by itself this long after it closed
  std::optional<bool> polarised;  // breaks in one direction only, a to b; nothing = not given
  bool operated = false;          // moves at all (a mated connector pin or a fixed link does not)
};

struct Coil : Element {
  TerminalIndex a, b;
  Datum volts_v, ohm, pull_in_v, drop_out_v;
  std::string suppression;  // none, diode, zener, resistor, ...; empty = not given
  Datum clamp_v;            // largest voltage across the coil while its current dies away
};

struct Load : Element {
  enum class Form { resistive, power, current } form = Form::resistive;
  TerminalIndex pos, neg;
  Datum amount;         // ohm, W or A
  Datum rated_v;        // voltage at which it is rated
  Datum low_v, high_v;  // voltage that it works at / stands
  Datum inrush;         // times the steady current, cold
  std::string channel;  // duty channel that sets the current; empty = always its own amount
  bool light = false;   // shows that it is on (lamp, horn, display): its failure announces itself
};

/// What a controller or another part reads: digital (on_above/off_below) or analogue (zero/full with a valid window).
struct Input : Element {
  TerminalIndex terminal, reference;
  bool active_high = true;
  bool analogue = false;
  Datum on_above_v, off_below_v, max_v;
  Datum zero_v, full_v, valid_low_v, valid_high_v;
  Datum pull_ohm;  // to pull_to
  std::optional<TerminalIndex> pull_to;
};

/// A structured condition that the part announces: torque, permit, ... (a driver is a Contact closed by one).
struct Output : Element {
  Condition when;
};

/// Leads that carry a duty channel's current outside the DC network: motor phases.
struct Lead : Element {
  TerminalIndex terminal;
  std::string channel;
  bool gives = true;  // the controller's end; false: the motor's end
};

struct Elements {
  std::vector<Source> sources;
  std::vector<Converter> converters;
  std::vector<Resistance> resistances;
  std::vector<Divider> dividers;
  std::vector<Capacitance> capacitances;
  std::vector<Diode> diodes;
  std::vector<Fuse> fuses;
  std::vector<Contact> contacts;
  std::vector<Coil> coils;
  std::vector<Load> loads;
  std::vector<Input> inputs;
  std::vector<Output> outputs;
  std::vector<Lead> leads;
};

}  // namespace loomproof
