// The first power-up, computed: each stage is the loom as it then stands on the bench, settled step by step.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "solve/precharge.h"
#include "solve/solved.h"

namespace loomproof {

/// What a voltmeter shows, red lead on `red`, black lead on `black`.
struct BenchReading {
  TerminalIndex red, black;
  std::optional<Volt> expected;   // none: no conductor ties the two, a meter shows about 0 V
  std::optional<double> of_pack;  // the same as a share of the pack's voltage, where it follows that
  std::string note;
};

/// What shows without a meter: torque, light, a click.
struct BenchSight {
  std::string what;
  std::string expected;
  std::string passes = "as expected";  // what counts as passed
};

struct BenchStep {
  std::string todo;
  OperatingPoint point;  // settled in the stage's circuit; with `trouble` nothing is expected
  std::vector<BenchReading> readings;
  std::vector<BenchSight> sights;
  std::optional<Ampere> supply;  // what the supply of this stage gives
};

/// Bus voltage while it is charged through the precharge resistor.
struct BenchCurve {
  PrechargeCircuit circuit;
  TerminalIndex red, black;
  std::vector<BusPoint> points;
};

struct BenchStage {
  std::string title;
  std::vector<std::string> setup;
  std::unique_ptr<Loom> loom;  // as it stands in this stage; its own, since circuits point to it
  Circuit circuit;             // of `loom`, copper at 20 degC
  std::vector<BenchStep> steps;
  std::optional<BenchCurve> curve;
  std::size_t curve_after = 0;       // the step that it belongs to
  std::vector<std::string> lacking;  // what could not be computed and why
  std::string stop;
};

/// Voltage and current limit to set on the supply that stands in for the pack. Below 60 V DC, and what any bench supply
/// gives; common practice, no source.
inline constexpr Volt bench_volts{30};
inline constexpr Ampere bench_limit{1};

/// The loom with all copper at `copper` in the network.
Loom with_copper_at(const Loom&, Celsius copper);

/// Five stages, in this order: supply in place of the pack; 12 V only; precharge only; main closed; brake and kill.
/// A stage that the file gives no ground for has no steps and says why in `lacking`.
std::vector<BenchStage> bench_stages(const Solved&);

}  // namespace loomproof
