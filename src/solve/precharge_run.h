// The charging of a bus as the whole loom does it: which contact closes when, at which bus voltage, and what stalls it.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "solve/closing.h"
#include "solve/operating_point.h"

namespace loomproof {

/// A stretch in which no contact and no load switches: the currents fall evenly with the bus voltage, which makes the
/// voltage an exponential of time.
struct ChargingStretch {
  double from_s = 0;
  double lasts_s = 0;  // infinite: the bus comes to `to_v` and stays
  double from_v = 0, to_v = 0;
  double from_a = 0, to_a = 0;                         // into the capacitances
  std::vector<double> from_resistor_a, to_resistor_a;  // by resistor of PrechargeRun::resistors
};

struct PrechargeRun {
  std::vector<std::size_t> resistors;  // into Elements::resistances: those of the path around the contact
  std::vector<ChargingStretch> stretches;
  double farad = 0;  // of all that hangs on the bus
  bool farad_known = true;
  double source_v = 0;                  // V, open-circuit
  double load_a = 0;                    // that the bus draws at the source's voltage with the contact open
  double settles_v = 0;                 // where the bus stays with the contact open
  bool stalls = false;                  // there: below 95 % of the source
  bool hunts = false;                   // a load starts there, pulls the bus down and stops again
  std::optional<std::size_t> drawn_by;  // part that draws most from the bus there
  std::optional<double> to_fraction_s;  // to 95 % of the source; none: never
  std::optional<double> closes_s;       // from switching on to the contact's closing; none: never
  double closes_v = 0;                  // bus voltage just before
  /// A contact that decides when it closes, and whose threshold the file does not give.
  std::optional<std::size_t> unknown_gate;
  std::string trouble;             // why the run is not to be relied on; empty: it is
  std::vector<std::size_t> gates;  // contacts with a delay or a threshold that the closing waited for
};

/// Charges the capacitances beside that of `closing` from nothing in `situation`, the contact of `closing` standing
/// open. At every bus voltage the network is solved with the capacitances replaced by a source of that voltage;
/// C dv/dt = i(v), i taken as straight between 1/32 of the source's voltage and cut where anything switches. Contacts
/// with `after_s` or `within_v` conduct only once both have come true.
PrechargeRun run_precharge(const Circuit&, const CircuitGraph&, const Closing&, const Situation&);

/// Bus voltage after `time` with the contact open.
double bus_voltage(const PrechargeRun&, double time_s);

/// Heat in a resistor of the run from the start to `time`, J.
double resistor_heat_j(const PrechargeRun&, const Loom&, std::size_t resistor, double time_s);

}  // namespace loomproof
