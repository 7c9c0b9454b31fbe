// Coils, latches, inputs: what the voltages decide.
#include <doctest/doctest.h>

#include <cmath>

#include "bench.h"
#include "solve/logic.h"

using namespace loomproof;
using namespace loomproof::bench;

TEST_CASE("a coil pulls in at its pull-in, holds above its drop-out, lets go below") {
  const auto drawing = [](double volts) {
    return Drawing()
        .part("b", halving_battery(volts, "1 mohm"))
        .part("rel", "relay, coil: 12 V 0.1 A, pull_in: 9 V, drop_out: 3 V")
        .part("r", "resistor, ohms: 10 ohm")
        .join("b.pos", "rel.coil_a")
        .join("rel.coil_b", "b.neg")
        .join("b.pos", "rel.a")
        .join("rel.b", "r.a")
        .join("r.b", "b.neg");
  };
  for (const auto& [volts, closed] : {std::pair{8.9, false}, std::pair{9.1, true}}) {
    Setup s(drawing(volts));
    CHECK((s.settle().logic.contact_closed[0] != 0) == closed);
  }
  Setup s(drawing(12));
  const OperatingPoint full = s.settle();
  // 6 V on the empty battery: held if it was on, not pulled in from rest.
  CHECK(s.network.settle_from(full, s.situation({}, Charge::empty)).logic.contact_closed[0] == 1);
  CHECK(s.settle({}, Charge::empty).logic.contact_closed[0] == 0);
  Setup low(drawing(5.8));  // 2.9 V empty
  OperatingPoint on = low.settle();
  on.logic.coil_on[0] = on.logic.contact_closed[0] = 1;
  CHECK(low.network.settle_from(on, low.situation({}, Charge::full)).logic.contact_closed[0] == 1);
  CHECK(low.network.settle_from(on, low.situation({}, Charge::empty)).logic.contact_closed[0] == 0);
  // So no bound above 3 V may say that it is off.
  CHECK(least_coil_v(low.loom.elements.coils[0]) == 3);
}

TEST_CASE("what an input may read by the most that it can see") {
  Input input;
  input.on_above_v.value = 8;
  input.off_below_v.value = 4;
  CHECK(may_read(input, 4) == std::pair(false, true));
  CHECK(may_read(input, 4.1) == std::pair(true, true));  // between its thresholds the hardware may read either
  CHECK(may_read(input, 9) == std::pair(true, true));    // less than the most is possible as well
  input.active_high = false;
  CHECK(may_read(input, 4) == std::pair(true, false));
  CHECK(may_read(input, 4.1) == std::pair(true, true));
  Input throttle;
  throttle.analogue = true;
  throttle.zero_v.value = 1;
  throttle.full_v.value = 4;
  CHECK(may_read(throttle, 1.15) == std::pair(false, true));  // a twentieth of its span is play
  CHECK(may_read(throttle, 1.16) == std::pair(true, true));
}

TEST_CASE("seal-in: start pulls in, stays after release, stop drops") {
  Setup s(seal_in(halving_battery(12, "1 mohm")));
  const OperatingPoint rest = s.settle();
  CHECK(rest.logic.coil_on[0] == 0);
  const OperatingPoint down = s.network.settle_from(rest, s.situation({{"start", "down"}}));
  CHECK(down.logic.coil_on[0] == 1);
  const OperatingPoint up = s.network.settle_from(down, s.situation());
  CHECK(up.trouble.empty());
  CHECK(up.logic.coil_on[0] == 1);
  CHECK(s.volts(up, "load.a", "load.b") > 11.9);
  const OperatingPoint off = s.network.settle_from(up, s.situation({{"stop", "pressed"}}));
  CHECK(off.logic.coil_on[0] == 0);
  CHECK(s.network.settle_from(off, s.situation()).logic.coil_on[0] == 0);
}

TEST_CASE("a coil that opens its own supply chatters and is not given a number") {
  Setup s(Drawing()
              .part("b", halving_battery(12, "1 mohm"))
              .part("rel", "changeover-relay, coil: 12 V 0.1 A")
              .join("b.pos", "rel.common")
              .join("rel.resting", "rel.coil_a")
              .join("rel.coil_b", "b.neg"));
  const OperatingPoint p = s.settle();
  CHECK(p.trouble.find("chatters") != std::string::npos);
  CHECK(p.trouble.find("rel.coil") != std::string::npos);
}

TEST_CASE("brake input, high and low: pressed cuts torque, released gives it") {
  for (const std::string active : {"high", "low"}) {
    CAPTURE(active);
    const bool high = active == "high";
    Drawing d;
    d.part("pack", "pack, chemistry: lfp, series: 16, cell_resistance: 1 mohm")
        .part("b", halving_battery(12, "1 mohm"))
        .part("drive",
              "motor-controller, volts: 36 V to 75 V, battery_limit: 100 A, isolated: true, "
              "brake_input: {active: " +
                  active + ", on_above: " + (high ? "8 V" : "3 V") + ", off_below: " + (high ? "4 V" : "1 V") +
                  "}, throttle: {zero: 0.9 V, full: 4.1 V, valid: 0.6 V to 4.4 V}")
        .part("thr", "throttle, sensor: hall, gives: 0.8 V to 4.2 V")
        .part("brake", "switch, positions: [released, pressed]");
    d.join("pack.pos", "drive.bat_pos")
        .join("pack.neg", "drive.bat_neg")
        .join("b.neg", "drive.io_neg")
        .join("drive.throttle_supply", "thr.supply")
        .join("drive.throttle_signal", "thr.signal")
        .join("drive.throttle_return", "thr.return")
        .join(high ? "b.pos" : "b.neg", "brake.a")
        .join("brake.b", "drive.brake");
    d.rest = "duty:\n  pull: {drive.battery: 50 A, for: 1 min}\n  regen: {drive.battery: -20 A, for: 10 s}\n";
    Setup s(d);
    const std::size_t torque = s.index(s.loom.elements.outputs, "drive", "torque");
    const auto gives = [&](const char* brake, const char* thr) {
      const OperatingPoint p = s.settle({{"brake", brake}, {"thr", thr}});
      CHECK(p.trouble == "");
      return p.logic.output_on[torque] != 0;
    };
    CHECK(gives("released", "full"));
    CHECK_FALSE(gives("pressed", "full"));
    CHECK_FALSE(gives("released", "rest"));
    CHECK(s.settle({{"brake", "pressed"}, {"thr", "full"}}, Charge::full, "pull").trouble == "duty not possible here");
    const OperatingPoint regen = s.settle({{"brake", "pressed"}}, Charge::full, "regen");
    CHECK(regen.trouble == "");
    CHECK(s.amps(regen, "w0") == doctest::Approx(-20).epsilon(1e-3));
    CHECK(s.volts(regen, "drive.bat_pos", "drive.bat_neg") == doctest::Approx(58.4 + 20 * 0.016).epsilon(1e-4));
  }
}

TEST_CASE("motor phases carry the duty's phase current and nothing else, wherever it returns") {
  Drawing d;
  d.part("pack", "pack, chemistry: lfp, series: 16, cell_resistance: 1 mohm")
      .part("drive", "motor-controller, volts: 36 V to 75 V, isolated: true, throttle: {zero: 0.9 V, full: 4.1 V}")
      .part("motor", "motor")
      .part("thr", "throttle, sensor: hall, gives: 0.8 V to 4.2 V")
      .join("pack.pos", "drive.bat_pos")
      .join("pack.neg", "drive.bat_neg")
      .join("drive.throttle_supply", "thr.supply")
      .join("drive.throttle_signal", "thr.signal")
      .join("drive.throttle_return", "thr.return")
      .wire("u", "drive.phase_u", "motor.u", "size: 16 mm2, length: 1 m")
      .wire("v", "drive.phase_v", "motor.v", "size: 16 mm2, length: 1 m")
      .wire("v2", "motor.v", "drive.phase_v", "size: 16 mm2, length: 3 m")
      .wire("w", "drive.phase_w", "motor.w", "size: 16 mm2, length: 1 m");
  d.rest = "duty:\n  pull: {drive.battery: 50 A, drive.phase: 200 A, for: 1 min}\n";
  Setup s(d);
  const OperatingPoint p = s.settle({{"thr", "full"}}, Charge::full, "pull");
  CHECK(p.trouble == "");
  CHECK(std::fabs(s.amps(p, "u")) == doctest::Approx(200));
  CHECK(std::fabs(s.amps(p, "w")) == doctest::Approx(200));
  CHECK(std::fabs(s.amps(p, "v")) == doctest::Approx(150));  // two wires share by length
  CHECK(std::fabs(s.amps(p, "v2")) == doctest::Approx(50));
  CHECK(s.amps(p, "w0") == doctest::Approx(50).epsilon(1e-3));
}

TEST_CASE("throttle at the very ends of its divider") {
  Drawing d;
  d.part("b", "battery, full: 5 V, nominal: 5 V, empty: 5 V, resistance: 1 uohm")
      .part("thr", "throttle, sensor: potentiometer, gives: 0 V to 5 V")
      .join("b.pos", "thr.supply")
      .join("b.neg", "thr.return");
  Setup s(d);
  CHECK(std::fabs(s.volts(s.settle(), "thr.signal", "thr.return")) < 0.01);
  CHECK(s.volts(s.settle({{"thr", "full"}}), "thr.signal", "thr.return") > 4.99);
}
