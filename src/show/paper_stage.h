// The pieces of a bench stage: what is altered in the loom, what is read in the settled point.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "show/paper_bench.h"
#include "solve/network.h"

namespace loomproof {

struct Poles {
  TerminalIndex pos, neg;
};

/// What the file offers to a power-up: its supplies, its switches, and the fewest moves that make it drive.
struct Plan {
  const Solved* solved = nullptr;
  std::optional<Poles> pack;
  double pack_v = 0;  // nominal
  std::optional<Poles> low;
  bool low_is_battery = false;
  Volt low_volts;
  std::vector<PartIndex> operated;
  std::vector<std::int8_t> rest, ready, drive;  // ready: as drive, throttle at rest
  bool drives = false;                          // some situation gives torque
  std::optional<PartIndex> service_plug;        // operated by hand, in the traction path
  std::int8_t plug_out = 0;

  bool is_throttle(PartIndex) const;
  /// A charger or a service plug: not worked while only the 12 V side is tried.
  bool feeds_traction(PartIndex) const;
  /// `'key' to on`
  std::string move_text(PartIndex, int position) const;
};
Plan plan_of(const Solved&);

bool has_torque(const Loom&, const OperatingPoint&);

/// The part is away: what is inside it conducts and gives nothing.
void take_out(Loom&, PartIndex);
/// A bench supply on two leads.
void stand_in(Loom&, Poles, Volt, std::optional<Ampere> limit);
/// The lead of the contact's coil is off, at the output that drives it where there is one. @return the leads, in words
std::string leave_open(Loom&, std::size_t contact);

void add_reading(const Plan&, const BenchStage&, TerminalIndex red, TerminalIndex black, std::string note, BenchStep&);
/// Every point of the traction side against `black`; with `before` only those that changed.
void read_traction(const Plan&, const BenchStage&, TerminalIndex black, const OperatingPoint* before, BenchStep&);

enum class Side { traction, low_voltage, both };
/// Loads, coils, inputs and converters whose voltage differs from `before` by more than half a volt (from 0 V where
/// there is none before).
void read_changes(const Plan&, const BenchStage&, const OperatingPoint* before, Side, BenchStep&);

std::optional<Ampere> supply_current(const BenchStage&, const OperatingPoint&);
std::optional<Ampere> pack_amps(const Plan&, const OperatingPoint&);

/// A coil-operated contact between the pack and a capacitance that charges around it while it is left open, as solved.
struct PrechargedContact {
  std::size_t contact = 0;
  std::size_t capacitance = 0;
};
std::vector<PrechargedContact> precharged_contacts(const Plan&);

/// Bus voltage over time with the loads that hang on it; nullopt when a datum is missing or the bus does not charge in
/// the settled point `charged`.
std::optional<BenchCurve> precharge_curve(const Plan&, const BenchStage&, const PrechargedContact&,
                                          const OperatingPoint& charged);

/// How long the capacitance holds its charge in the settled point `open`, from the nominal pack down to `to`:
/// RC ln(V/to) with the resistances across it; nullopt when there are none or its value is not given.
std::optional<Second> discharge_time(const Plan&, const BenchStage&, std::size_t capacitance,
                                     const OperatingPoint& open, Volt to);

}  // namespace loomproof
