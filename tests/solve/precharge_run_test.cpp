// The charging of a bus through the whole loom: against ngspice transients, closed forms, and what must decide.
#include "solve/charging.h"

#include <doctest/doctest.h>

#include <cmath>
#include <sstream>
#include <string>

#include "read/read.h"
#include "solve/precharge.h"
#include "solve/solved.h"
#include "spice.h"

namespace {

using loomproof::Charging;
using loomproof::Loom;
using loomproof::PrechargeRun;
using loomproof::Solved;

// 16 LFP cells, 58.4 V full and 16 mohm; a relay and a resistor around the contactor, all switched by one key.
struct PrechargeBench {
  std::string resistor = "47 ohm";
  std::string drive = "closes_main_above: 50 V, closes_main_after: 1 s, idle: 1 uA";
  std::string main = "";
  std::string relay = "";
  std::string parts = "";  // more parts and wires
  std::string wires = "";
  std::string coil_b = "drive.coil_drive";
};

Loom bench_loom(const PrechargeBench& b) {
  std::ostringstream text;
  text << R"(loom: 1
vehicle: {name: Bench}
parts:
  pack: {is: pack, chemistry: lfp, series: 16, cell_resistance: 1 mohm}
  main: {is: contactor, coil: 12 V 1 A, makes: 40 A, resistance: 1 uohm)"
       << b.main << R"(}
  relay: {is: relay, coil: 12 V 0.1 A, resistance: 1 uohm)"
       << b.relay << R"(}
  res: {is: resistor, ohms: )"
       << b.resistor << R"(, watts: 100 W, pulse: 100 J}
  drive: {is: motor-controller, volts: 30 V to 75 V, capacitance: 2200 uF, isolated: true, )"
       << b.drive << R"(}
  small: {is: battery, resistance: 20 mohm}
  key: {is: switch, positions: [off, on]}
)" << b.parts
       << R"(wires:
  T1: {from: pack.pos, to: main.a, size: 35 mm2, length: 1 mm}
  T2: {from: main.b, to: drive.bat_pos, size: 35 mm2, length: 1 mm}
  T3: {from: pack.neg, to: drive.bat_neg, size: 35 mm2, length: 1 mm}
  P1: {from: main.a, to: relay.a, size: 35 mm2, length: 1 mm}
  P2: {from: relay.b, to: res.a, size: 35 mm2, length: 1 mm}
  P3: {from: res.b, to: main.b, size: 35 mm2, length: 1 mm}
  C1: {from: small.pos, to: key.a, size: 1 mm2, length: 1 mm}
  C2: {from: key.b, to: main.coil_a, size: 1 mm2, length: 1 mm}
  C3: {from: main.coil_b, to: )"
       << b.coil_b << R"(, size: 1 mm2, length: 1 mm}
  C4: {from: key.b, to: relay.coil_a, size: 1 mm2, length: 1 mm}
  C5: {from: relay.coil_b, to: small.neg, size: 1 mm2, length: 1 mm}
  C6: {from: key.b, to: drive.key, size: 1 mm2, length: 1 mm}
  C7: {from: drive.io_neg, to: small.neg, size: 1 mm2, length: 1 mm}
)" << b.wires;
  loomproof::ReadResult read = loomproof::read_loom(text.str(), "bench");
  for (const auto& fault : read.faults) MESSAGE(fault.at.line, ": ", fault.what);
  REQUIRE(read.loom);
  return std::move(*read.loom);
}

PrechargeRun run_of(const Loom& loom) {
  const Solved solved = loomproof::solve(loom);
  for (const Charging& charging : solved.chargings) {
    if (loom.part(loom.elements.contacts[charging.closing.contact].part).name != "main") continue;
    REQUIRE_FALSE(charging.runs.empty());
    return charging.runs.back();
  }
  FAIL("main closes onto nothing");
  return {};
}

constexpr double full_v = 58.4;

// Largest distance from ngspice in volts until the end of the stretch that is compared.
double apart_v(const PrechargeRun& run, const std::string& deck, double until_s) {
  const spice::Transient spiced = spice::transient(".options reltol=1e-6\nv1 src 0 58.4\nr1 src in 16m\n" + deck,
                                                   until_s / 4000, until_s, {"v(bus)"});
  double worst_v = 0;
  for (int i = 1; i <= 200; ++i) {
    const double t = until_s * i / 200;
    worst_v = std::max(worst_v, std::fabs(spiced.at(t) - loomproof::bus_voltage(run, t)));
  }
  return worst_v;
}

void within_half_percent(const std::string& what, double apart) {
  MESSAGE(what, ": ", apart / full_v * 100, " % of the source");
  CHECK(apart < 0.005 * full_v);
}

}  // namespace

TEST_CASE("an unloaded bus: ngspice, and the closed form of time and heat") {
  const Loom loom = bench_loom({});
  const PrechargeRun run = run_of(loom);
  CHECK(run.trouble.empty());
  within_half_percent("unloaded", apart_v(run, "r2 in bus 47\nc1 bus 0 2200u ic=0\n", 1.0));
  const double tau_s = 47.016 * 2.2e-3;
  REQUIRE(run.to_fraction_s);
  CHECK(*run.to_fraction_s == doctest::Approx(tau_s * std::log(20)).epsilon(1e-3));
  // The controller's second, ten time constants.
  REQUIRE(run.closes_s);
  CHECK(*run.closes_s == doctest::Approx(1 + tau_s * std::log(58.4 / 8.4)).epsilon(1e-3));
  REQUIRE(run.resistors.size() == 1);
  CHECK(loomproof::resistor_heat_j(run, loom, 0, 2) ==
        doctest::Approx(0.5 * 2.2e-3 * full_v * full_v * 47 / 47.016).epsilon(1e-3));
}

TEST_CASE("a resistive and a constant-current load: ngspice, and where it stays") {
  PrechargeBench bench;
  bench.drive = "closes_main_above: 50 V, closes_main_after: 1 s, idle: 50 mA, bleed: 1 kohm";
  bench.resistor = "220 ohm";
  const PrechargeRun run = run_of(bench_loom(bench));
  within_half_percent("bleed and idle", apart_v(run,
                                                "r2 in bus 220\nc1 bus 0 2200u ic=0\nr3 bus 0 1k\n"
                                                "b1 bus 0 i=v(bus)>1 ? 50m : v(bus)*50m\n",
                                                4));
  CHECK(run.settles_v == doctest::Approx((58.4 / 220.016 - 0.05) / (1 / 220.016 + 1e-3)).epsilon(1e-3));
  CHECK(run.stalls);
  CHECK_FALSE(run.closes_s);
}

TEST_CASE("a converter on the bus that starts in its window stalls it: the kernel of precharge.h agrees") {
  PrechargeBench bench;
  bench.parts =
      "  dcdc: {is: dcdc, in: 20 V to 75 V, out: 13 V, limit: 10 A, efficiency: 0.9, isolated: true, inrush: 1 A}\n"
      "  fan: {is: load, watts: 60 W, volts: 13 V}\n";
  bench.wires =
      "  D1: {from: main.b, to: dcdc.in_pos, size: 35 mm2, length: 1 mm}\n"
      "  D2: {from: drive.bat_neg, to: dcdc.in_neg, size: 35 mm2, length: 1 mm}\n"
      "  D3: {from: dcdc.out_pos, to: fan.pos, size: 4 mm2, length: 1 mm}\n"
      "  D4: {from: dcdc.out_neg, to: fan.neg, size: 4 mm2, length: 1 mm}\n";
  const Loom loom = bench_loom(bench);
  const PrechargeRun run = run_of(loom);
  CHECK(run.stalls);
  CHECK_FALSE(run.closes_s);
  CHECK(run.settles_v == doctest::Approx(20).epsilon(0.01));
  REQUIRE(run.drawn_by);
  CHECK(loom.parts[*run.drawn_by].name == "dcdc");
  within_half_percent("until the converter starts", apart_v(run, "r2 in bus 47\nc1 bus 0 2200u ic=0\n", 0.040));
  // A twentieth of that load can be fed: P < V^2/(4R), and the bus settles at the higher balance.
  bench.parts.replace(bench.parts.find("60 W"), 4, "3 W");
  const PrechargeRun light = run_of(bench_loom(bench));
  const double watts = (2 + 3.0 / 0.9) * 1.0;
  within_half_percent("a small converter", apart_v(light,
                                                   "r2 in bus 47\nc1 bus 0 2200u ic=0\nv2 one 0 1\n"
                                                   "s1 one on bus 0 sw1\nr4 on 0 1k\n"
                                                   ".model sw1 sw vt=20 vh=0 ron=1m roff=1g\n"
                                                   "b2 bus 0 i=v(on)>0.5 ? " +
                                                       std::to_string(watts) + "/max(v(bus),1e-3) : 0\n",
                                                   0.5));
}

TEST_CASE("who closes first, and by what") {
  PrechargeBench at_once;
  at_once.coil_b = "small.neg";
  const PrechargeRun together = run_of(bench_loom(at_once));
  REQUIRE(together.closes_s);
  CHECK(*together.closes_s == 0);
  CHECK(together.closes_v == 0);

  at_once.main = ", closes_after: 0.2 s";
  const PrechargeRun delayed = run_of(bench_loom(at_once));
  REQUIRE(delayed.closes_s);
  CHECK(*delayed.closes_s == doctest::Approx(0.2));
  CHECK(delayed.closes_v == doctest::Approx(full_v * (1 - std::exp(-0.2 / (47.016 * 2.2e-3)))).epsilon(1e-3));

  PrechargeBench threshold;
  threshold.drive = "closes_main_above: 36 V, idle: 1 uA";
  const PrechargeRun above = run_of(bench_loom(threshold));
  REQUIRE(above.closes_s);
  CHECK(above.closes_v == doctest::Approx(36).epsilon(1e-3));

  threshold.drive = "closes_main_above: 36 V, closes_main_within: 2 V, idle: 1 uA";
  const PrechargeRun near = run_of(bench_loom(threshold));
  REQUIRE(near.closes_s);
  CHECK(near.closes_v == doctest::Approx(56.4).epsilon(1e-3));

  threshold.drive = "idle: 1 uA";
  CHECK(run_of(bench_loom(threshold)).unknown_gate);

  PrechargeBench slow;
  slow.resistor = "15 kohm";
  slow.drive = "closes_main_above: 36 V, idle: 20 mA";
  const PrechargeRun never = run_of(bench_loom(slow));
  CHECK_FALSE(never.closes_s);
  CHECK(never.stalls);
}
