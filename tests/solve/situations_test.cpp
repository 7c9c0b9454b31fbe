// Which states of a loom are found: those that it remembers, both readings of an undefined input, and no duty where the
// drive does not run. Every expected answer follows from the circuit by hand, as the comment beside it says.
#include "solve/deciding_parts.h"
#include "solve/situations.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "bench.h"

using namespace loomproof;
using namespace loomproof::bench;

namespace {

const std::string steady_battery = battery(12, "1 mohm");

// States of a coil that were found with the switches so, without duty.
std::set<int> coil_states(const Setup& s, const Situations& all, const std::map<std::string, std::string>& moved,
                          Charge charge = Charge::full) {
  std::set<int> out;
  const Situation wanted = s.situation(moved, charge);
  for (const OperatingPoint& p : all.points) {
    if (p.situation.positions == wanted.positions && p.situation.charge == charge && !p.situation.duty)
      out.insert(p.logic.coil_on[0]);
  }
  return out;
}

}  // namespace

TEST_CASE("a seal-in contactor is found both off and on with its start button released") {
  Setup s(seal_in(steady_battery));
  const Situations all = settle_all(s.circuit);
  CHECK(all.troubled.empty());
  CHECK(coil_states(s, all, {}) == std::set<int>{0, 1});                  // before start, and after it
  CHECK(coil_states(s, all, {{"start", "down"}}) == std::set<int>{1});    // the button feeds the coil
  CHECK(coil_states(s, all, {{"stop", "pressed"}}) == std::set<int>{0});  // nothing feeds it
  CHECK(coil_states(s, all, {{"stop", "pressed"}, {"start", "down"}}) == std::set<int>{0});
}

TEST_CASE("a latch that only two moves in a row reach is found") {
  // The second relay is fed through a contact of the first and holds itself; only while `arm` is on can `start` set the
  // first, and only `go` then sets the second. At rest afterwards it is on, though no single move from rest sets it.
  Setup s(Drawing()
              .part("b", steady_battery)
              .part("arm", "switch, positions: [off, on]")
              .part("go", "switch, positions: [off, on]")
              .part("one", "relay, coil: 12 V 0.1 A")
              .part("two", "relay, coil: 12 V 0.1 A")
              .join("b.pos", "arm.a")
              .join("arm.b", "one.coil_a")
              .join("one.coil_b", "b.neg")
              .join("b.pos", "go.a")
              .join("go.b", "one.a")
              .join("one.b", "two.coil_a")
              .join("two.coil_b", "b.neg")
              .join("b.pos", "two.a")
              .join("two.b", "two.coil_a"));
  const Situations all = settle_all(s.circuit);
  const Situation rest = s.situation();
  bool on_at_rest = false;
  for (const OperatingPoint& p : all.points)
    on_at_rest |= p.situation.positions == rest.positions && p.logic.coil_on[1] != 0;
  CHECK(on_at_rest);
}

TEST_CASE("a sag that keeps a coil from pulling in is not hidden by a neighbour that holds, nor the other way round") {
  // Lamp first: 2.2 ohm behind 1 ohm leave 8.3 V at the coil, below its pull-in of 9 V. Coil first: it holds.
  Setup s(Drawing()
              .part("b", "battery, full: 12 V, nominal: 12 V, empty: 12 V, resistance: 1 ohm")
              .part("rel", "relay, coil: 12 V 0.01 A")
              .part("light", "switch, positions: [off, on]")
              .part("lamp", "lamp, watts: 65 W, volts: 12 V")
              .join("b.pos", "rel.coil_a")
              .join("rel.coil_b", "b.neg")
              .join("b.pos", "light.a")
              .join("light.b", "lamp.a")
              .join("lamp.b", "b.neg"));
  const Situations all = settle_all(s.circuit);
  CHECK(coil_states(s, all, {}) == std::set<int>{1});
  CHECK(coil_states(s, all, {{"light", "on"}}) == std::set<int>{0, 1});
}

TEST_CASE("a coil that the full battery pulled in is held by the empty one") {
  // 12 V full, 6 V empty: below the pull-in of 9 V, above the drop-out of 1.2 V.
  Setup s(Drawing()
              .part("b", "battery, full: 12 V, nominal: 12 V, empty: 6 V, resistance: 1 mohm")
              .part("rel", "relay, coil: 12 V 0.1 A")
              .join("b.pos", "rel.coil_a")
              .join("rel.coil_b", "b.neg"));
  const Situations all = settle_all(s.circuit);
  CHECK(coil_states(s, all, {}, Charge::full) == std::set<int>{1});
  CHECK(coil_states(s, all, {}, Charge::empty) == std::set<int>{0, 1});
}

TEST_CASE("a coil that opens its own supply chatters in every switch state in which it is fed") {
  Setup s(Drawing()
              .part("b", steady_battery)
              .part("key", "switch, positions: [off, on]")
              .part("rel", "changeover-relay, coil: 12 V 0.1 A")
              .join("b.pos", "key.a")
              .join("key.b", "rel.common")
              .join("rel.resting", "rel.coil_a")
              .join("rel.coil_b", "b.neg"));
  const Situations all = settle_all(s.circuit);
  REQUIRE_FALSE(all.troubled.empty());
  for (const OperatingPoint& p : all.troubled) {
    CHECK(p.situation.positions[s.part("key")] == 1);
    CHECK(p.trouble.find("chatters") != std::string::npos);
  }
  for (const OperatingPoint& p : all.points) CHECK(p.situation.positions[s.part("key")] == 0);
}

namespace {

// A controller whose brake input is lifted through a series resistor against its own 10 kohm to the return.
Drawing brake_through(const std::string& series) {
  Drawing d;
  d.part("pack", "pack, chemistry: lfp, series: 16, cell_resistance: 1 mohm")
      .part("b", steady_battery)
      .part("drive",
            "motor-controller, volts: 36 V to 75 V, battery_limit: 100 A, isolated: true, brake_input: {active: high, "
            "on_above: 8 V, off_below: 4 V}, throttle: {zero: 0.9 V, full: 4.1 V, valid: 0.6 V to 4.4 V}")
      .part("thr", "throttle, sensor: hall, gives: 0.8 V to 4.2 V")
      .part("r", "resistor, ohms: " + series);
  d.join("pack.pos", "drive.bat_pos")
      .join("pack.neg", "drive.bat_neg")
      .join("b.neg", "drive.io_neg")
      .join("drive.throttle_supply", "thr.supply")
      .join("drive.throttle_signal", "thr.signal")
      .join("drive.throttle_return", "thr.return")
      .join("b.pos", "r.a")
      .join("r.b", "drive.brake");
  return d;
}

}  // namespace

TEST_CASE("an input between its two thresholds counts as either: with and without torque at full throttle") {
  // 12 V over 10 kohm and 10 kohm: 6 V, between 4 V and 8 V. 3.3 kohm: 9.0 V, braking. 30 kohm: 3 V, not braking.
  for (const auto& [series, states] :
       {std::pair<std::string, std::set<int>>{"10 kohm", {0, 1}}, {"3.3 kohm", {0}}, {"30 kohm", {1}}}) {
    CAPTURE(series);
    Setup s(brake_through(series));
    const std::size_t torque = s.index(s.loom.elements.outputs, "drive", "torque");
    std::set<int> found;
    for (const OperatingPoint& p : settle_all(s.circuit).points) {
      if (p.situation.positions[s.part("thr")] == 1) found.insert(p.logic.output_on[torque]);
    }
    CHECK(found == states);
  }
}

TEST_CASE("a drive that is fed through its precharge resistor only does not run") {
  const auto drawing = [](const std::string& between) {
    Drawing d = brake_through("30 kohm");
    d.part("link", between);
    for (auto& line : d.wires) {
      const auto at = line.find("pack.pos");
      if (at != std::string::npos) line.replace(line.find("drive.bat_pos"), 13, "link.a");
    }
    d.join("link.b", "drive.bat_pos");
    d.rest = "duty:\n  crawl: {drive.battery: 0.1 A, for: 1 min}\n";
    return d;
  };
  CHECK_FALSE(settle_all(Setup(drawing("resistor, ohms: 47 ohm")).circuit).duty_reached[0]);
  CHECK(settle_all(Setup(drawing("fuse, rated: 10 A, volts: 80 V")).circuit).duty_reached[0]);
}

TEST_CASE("current given back that no battery takes is never a silent number") {
  // 20 A through 47 ohm would lift the bus by 940 V. With a window of its own the controller stops: no such point.
  for (const bool window : {false, true}) {
    CAPTURE(window);
    Drawing d;
    d.part("pack", "pack, chemistry: lfp, series: 16, cell_resistance: 1 mohm")
        .part("r", "resistor, ohms: 47 ohm")
        .part("drive", std::string("motor-controller, isolated: true") + (window ? ", volts: 36 V to 75 V" : ""))
        .join("pack.pos", "r.a")
        .join("r.b", "drive.bat_pos")
        .join("pack.neg", "drive.bat_neg");
    d.rest = "duty:\n  regen: {drive.battery: -20 A, for: 10 s}\n";
    Setup s(d);
    const Situations all = settle_all(s.circuit);
    for (const OperatingPoint& p : all.points) CHECK_FALSE(p.situation.duty);
    CHECK(all.troubled.empty() == window);
    for (const OperatingPoint& p : all.troubled) CHECK(p.trouble.find("load dump: drive.bus") == 0);
  }
}

TEST_CASE("a switch that only feeds a lamp decides nothing, one that feeds a coil does") {
  Setup s(Drawing()
              .part("b", steady_battery)
              .part("light", "switch, positions: [off, on]")
              .part("lamp", "lamp, watts: 5 W, volts: 12 V")
              .part("key", "switch, positions: [off, on]")
              .part("rel", "relay, coil: 12 V 0.1 A")
              .join("b.pos", "light.a")
              .join("light.b", "lamp.a")
              .join("lamp.b", "b.neg")
              .join("b.pos", "key.a")
              .join("key.b", "rel.coil_a")
              .join("rel.coil_b", "b.neg"));
  const std::vector<char> decides = deciding_parts(s.circuit);
  CHECK(decides[s.part("light")] == 0);
  CHECK(decides[s.part("key")] == 1);
  const Situations all = settle_all(s.circuit);
  CHECK(all.possible == 8);  // 2 x 2 switch states, full and empty
  CHECK(all.covered == 8);
  CHECK(all.points.size() == 8);
}
