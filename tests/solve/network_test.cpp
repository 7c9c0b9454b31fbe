// Linear networks against closed forms and published worked examples.
#include <doctest/doctest.h>

#include <cmath>

#include "bench.h"

using namespace loomproof;
using namespace loomproof::bench;

TEST_CASE("voltage divider: v = V R2 / (R1 + R2)") {
  Setup s(Drawing()
              .part("b", halving_battery(12, "1 uohm"))
              .part("r1", "resistor, ohms: 330 ohm")
              .part("r2", "resistor, ohms: 470 ohm")
              .join("b.pos", "r1.a")
              .join("r1.b", "r2.a")
              .join("r2.b", "b.neg"));
  const OperatingPoint p = s.settle();
  CHECK(p.trouble.empty());
  CHECK(s.volts(p, "r2.a", "r2.b") == near(12.0 * 470 / 800));
  CHECK(s.volts(p, "r2.b", "r2.a") == near(-12.0 * 470 / 800));
  CHECK(s.amps(p, "w0") == near(12.0 / 800));
  CHECK(p.source_a[0] == near(12.0 / 800));
}

TEST_CASE("the empty pack is a source of its empty voltage") {
  Setup s(Drawing()
              .part("b", halving_battery(12, "1 ohm"))
              .part("r", "resistor, ohms: 5 ohm")
              .join("b.pos", "r.a")
              .join("r.b", "b.neg"));
  CHECK(s.amps(s.settle({}, Charge::full), "w0") == near(2.0));
  CHECK(s.amps(s.settle({}, Charge::nominal), "w0") == near(2.0));
  CHECK(s.amps(s.settle({}, Charge::empty), "w0") == near(1.0));
}

TEST_CASE("Wheatstone bridge: balanced no current, unbalanced as Thevenin says") {
  const auto bridge = [](double r4) {
    return Drawing()
        .part("b", halving_battery(10, "1 uohm"))
        .part("r1", "resistor, ohms: 100 ohm")
        .part("r2", "resistor, ohms: 200 ohm")
        .part("r3", "resistor, ohms: 300 ohm")
        .part("r4", fmt::format("resistor, ohms: {} ohm", r4))
        .part("galvo", "resistor, ohms: 50 ohm")
        .join("b.pos", "r1.a")
        .join("b.pos", "r3.a")
        .join("r1.b", "r2.a")
        .join("r3.b", "r4.a")
        .join("r2.b", "b.neg")
        .join("r4.b", "b.neg")
        .wire("left", "r1.b", "galvo.a")
        .wire("right", "galvo.b", "r3.b");
  };
  Setup balanced(bridge(600));
  CHECK(std::fabs(balanced.amps(balanced.settle(), "left")) < 1e-8);
  Setup off(bridge(400));
  // Thevenin seen by the galvanometer: 10 (200/300 - 400/700) behind 100||200 + 300||400.
  const double open_v = 10 * (200.0 / 300 - 400.0 / 700);
  const double ohm = 100.0 * 200 / 300 + 300.0 * 400 / 700;
  CHECK(off.amps(off.settle(), "left") == near(open_v / (ohm + 50)));
  CHECK(off.amps(off.settle(), "right") == near(open_v / (ohm + 50)));
}

TEST_CASE("R-2R ladder: every rung halves the voltage") {
  Drawing d;
  d.part("b", halving_battery(16, "1 uohm"));
  std::string before = "b.pos";
  for (int i = 1; i <= 4; ++i) {
    const std::string series = fmt::format("s{}", i), rung = fmt::format("r{}", i);
    d.part(series, "resistor, ohms: 1 kohm").part(rung, "resistor, ohms: 2 kohm");
    d.join(before, series + ".a").join(series + ".b", rung + ".a").join(rung + ".b", "b.neg");
    before = rung + ".a";
  }
  d.part("end", "resistor, ohms: 1 kohm").part("end2", "resistor, ohms: 1 kohm");
  // Behind the last rung another 2 kohm, so that the ladder looks the same from every rung.
  d.join(before, "end.a").join("end.b", "end2.a").join("end2.b", "b.neg");
  Setup s(d);
  const OperatingPoint p = s.settle();
  CHECK(s.volts(p, "r1.a", "b.neg") == near(8.0));
  CHECK(s.volts(p, "r2.a", "b.neg") == near(4.0));
  CHECK(s.volts(p, "r3.a", "b.neg") == near(2.0));
  CHECK(s.volts(p, "r4.a", "b.neg") == near(1.0));
}

TEST_CASE("worked example 1, drop over a long run: 230 V, 25 A, 0.2 ohm a wire, 220 V at the load") {
  // tests/reference/worked_examples.md, number 1 (Lessons In Electric Circuits, DC, chapter 12).
  Setup s(Drawing()
              .part("b", halving_battery(230, "1 uohm"))
              .part("out", "resistor, ohms: 0.2 ohm")
              .part("back", "resistor, ohms: 0.2 ohm")
              .part("load", "horn, draws: 25 A, volts: 220 V")
              .join("b.pos", "out.a")
              .join("out.b", "load.a")
              .join("load.b", "back.a")
              .join("back.b", "b.neg"));
  const OperatingPoint p = s.settle();
  CHECK(s.volts(p, "out.a", "out.b") == near(5.0));
  CHECK(s.volts(p, "load.a", "load.b") == near(220.0));
}

TEST_CASE("worked example 2, a loop shorted at its far end: 230 V, 5.651 ohm a wire, 20.352 A") {
  // tests/reference/worked_examples.md, number 2 (Lessons In Electric Circuits, DC, chapter 12); printed to 5 figures.
  Setup s(Drawing()
              .part("b", halving_battery(230, "1 uohm"))
              .part("out", "resistor, ohms: 5.651 ohm")
              .part("back", "resistor, ohms: 5.651 ohm")
              .join("b.pos", "out.a")
              .join("out.b", "back.a")
              .join("back.b", "b.neg"));
  CHECK(s.amps(s.settle(), "w1") == doctest::Approx(20.352).epsilon(2e-4));
}

TEST_CASE("worked example 3, a loop of two 15 ohm wires and 250 ohm: 50 mA cold, 49.677 mA at 35 degC") {
  // tests/reference/worked_examples.md, number 3 (Lessons In Electric Circuits, DC, chapter 12).
  const auto loop = [](double ohm) {
    return Drawing()
        .part("b", halving_battery(14, "1 uohm"))
        .part("out", fmt::format("resistor, ohms: {} ohm", ohm))
        .part("back", fmt::format("resistor, ohms: {} ohm", ohm))
        .part("load", "resistor, ohms: 250 ohm")
        .join("b.pos", "out.a")
        .join("out.b", "load.a")
        .join("load.b", "back.a")
        .join("back.b", "b.neg");
  };
  Setup cold(loop(15));
  const OperatingPoint at_20 = cold.settle();
  CHECK(cold.amps(at_20, "w0") == near(0.050));
  CHECK(cold.volts(at_20, "out.a", "out.b") == near(0.75));
  CHECK(cold.volts(at_20, "load.a", "load.b") == near(12.5));
  Setup warm(loop(15 * (1 + 0.004041 * 15)));
  const OperatingPoint at_35 = warm.settle();
  CHECK(warm.amps(at_35, "w0") == doctest::Approx(49.677e-3).epsilon(2e-5));
  CHECK(warm.volts(at_35, "load.a", "load.b") == doctest::Approx(12.42).epsilon(4e-4));
}

TEST_CASE("a wire's resistance in the network is that of its copper 30 K above the air") {
  // ISO 6722-1: 2.5 mm2 at most 7.60 mohm/m at 20 degC (tests/reference/metric_resistance.csv); at -10 degC of air the
  // network's copper is just at 20 degC. At 20 degC of air it is at 50 degC: 1 + 0.00393 * 30 (IEC 60287-1-1).
  Drawing d;
  d.part("b", halving_battery(12, "1 uohm"))
      .part("r", "resistor, ohms: 1 ohm")
      .wire("long", "b.pos", "r.a", "size: 2.5 mm2, length: 10 m, insulation: pvc-105")
      .join("r.b", "b.neg");
  std::string cold_text = d.text();
  cold_text.replace(cold_text.find("20 degC"), 7, "-10 degC");
  Setup cold(cold_text);
  CHECK(cold.amps(cold.settle(), "long") == near(12 / 1.076));
  Setup warm(d);
  CHECK(warm.amps(warm.settle(), "long") == near(12 / (1 + 0.076 * (1 + 0.00393 * 30))));
}

TEST_CASE("worked example 8, current divider: 6 V over 1, 3 and 2 kohm") {
  // tests/reference/worked_examples.md, number 8 (Lessons In Electric Circuits, DC, chapter 6).
  for (const double volts : {6.0, 24.0}) {
    Setup s(Drawing()
                .part("b", halving_battery(volts, "1 uohm"))
                .part("r1", "resistor, ohms: 1 kohm")
                .part("r2", "resistor, ohms: 3 kohm")
                .part("r3", "resistor, ohms: 2 kohm")
                .part("node", "splice")
                .wire("all", "b.pos", "node")
                .wire("i1", "node", "r1.a")
                .wire("i2", "node", "r2.a")
                .wire("i3", "node", "r3.a")
                .join("r1.b", "b.neg")
                .join("r2.b", "b.neg")
                .join("r3.b", "b.neg"));
    const OperatingPoint p = s.settle();
    CHECK(s.amps(p, "i1") == near(volts * 1e-3));
    CHECK(s.amps(p, "i2") == near(volts / 3 * 1e-3));
    CHECK(s.amps(p, "i3") == near(volts / 2 * 1e-3));
    CHECK(s.amps(p, "all") == near(volts / 545.4545));
    CHECK(s.amps(p, "i1") / s.amps(p, "all") == near(6.0 / 11));
  }
}

TEST_CASE("worked example 9, battery of 10 V and 0.2 ohm: 8.333 A into 1 ohm, 50 A into a short") {
  // tests/reference/worked_examples.md, number 9 (Lessons In Electric Circuits, DC, chapter 11).
  Setup loaded(Drawing()
                   .part("b", halving_battery(10, "0.2 ohm"))
                   .part("r", "resistor, ohms: 1 ohm")
                   .join("b.pos", "r.a")
                   .join("r.b", "b.neg"));
  CHECK(loaded.amps(loaded.settle(), "w0") == near(10 / 1.2));
  Setup shorted(Drawing().part("b", halving_battery(10, "0.2 ohm")).join("b.pos", "b.neg"));
  const OperatingPoint p = shorted.settle();
  CHECK(p.trouble.empty());
  CHECK(shorted.amps(p, "w0") == near(50.0));
  CHECK(std::fabs(shorted.volts(p, "b.pos", "b.neg")) < 1e-3);
}

TEST_CASE("worked example 10, five cells of 2 V and 0.2 ohm in parallel are one of 0.04 ohm") {
  // tests/reference/worked_examples.md, number 10 (Lessons In Electric Circuits, DC, chapter 11).
  Drawing d;
  d.part("pos", "splice").part("neg", "splice").part("r", "resistor, ohms: 0.36 ohm");
  for (int i = 0; i < 5; ++i) {
    const std::string cell = fmt::format("c{}", i);
    d.part(cell, halving_battery(2, "0.2 ohm"));
    d.wire("i" + std::to_string(i), cell + ".pos", "pos").join(cell + ".neg", "neg");
  }
  d.wire("all", "pos", "r.a").join("r.b", "neg");
  Setup s(d);
  const OperatingPoint p = s.settle();
  CHECK(s.amps(p, "all") == doctest::Approx(2 / 0.4).epsilon(2e-5));
  for (int i = 0; i < 5; ++i) CHECK(s.amps(p, "i" + std::to_string(i)) == doctest::Approx(1).epsilon(2e-5));
}

TEST_CASE("worked example 11, ammeter shunt: 1 mA and 500 ohm beside 100.02 mohm carry 5 A") {
  // tests/reference/worked_examples.md, number 11 (Lessons In Electric Circuits, DC, chapter 8).
  Setup s(Drawing()
              .part("b", halving_battery(24, "1 uohm"))
              .part("load", "horn, draws: 5 A, volts: 12 V")
              .part("shunt", "resistor, ohms: 100.02 mohm")
              .part("meter", "resistor, ohms: 500 ohm")
              .part("in", "splice")
              .part("out", "splice")
              .join("b.pos", "in")
              .wire("movement", "in", "meter.a")
              .join("in", "shunt.a")
              .join("meter.b", "out")
              .join("shunt.b", "out")
              .join("out", "load.a")
              .join("load.b", "b.neg"));
  CHECK(s.amps(s.settle(), "movement") == doctest::Approx(1e-3).epsilon(5e-5));
}

TEST_CASE("superposition: two sources behind resistances feed one load") {
  Setup s(Drawing()
              .part("b1", halving_battery(12, "1 ohm"))
              .part("b2", halving_battery(9, "2 ohm"))
              .part("r", "resistor, ohms: 4 ohm")
              .wire("i1", "b1.pos", "r.a")
              .wire("i2", "b2.pos", "r.a")
              .join("b1.neg", "r.b")
              .join("b2.neg", "r.b"));
  const OperatingPoint p = s.settle();
  const double v = (12.0 / 1 + 9.0 / 2) / (1.0 + 0.5 + 0.25);  // Millman
  CHECK(s.volts(p, "r.a", "r.b") == near(v));
  CHECK(s.amps(p, "i1") == near(12 - v));
  CHECK(p.source_a[1] == near((9 - v) / 2));  // negative: the weaker one is charged
  CHECK(p.source_a[1] < 0);
}

TEST_CASE("pieces without a conductor between them have no voltage between them") {
  Setup s(Drawing()
              .part("b1", halving_battery(12, "1 uohm"))
              .part("b2", halving_battery(48, "1 uohm"))
              .part("r1", "resistor, ohms: 10 ohm")
              .part("r2", "resistor, ohms: 10 ohm")
              .part("key", "switch, positions: [off, on]")
              .part("adrift", "horn, draws: 3 A, volts: 12 V")
              .join("b1.pos", "r1.a")
              .join("r1.b", "b1.neg")
              .join("b2.pos", "r2.a")
              .join("r2.b", "b2.neg")
              .join("b1.pos", "key.a")
              .join("key.b", "adrift.a"));
  for (const char* position : {"off", "on"}) {
    const OperatingPoint p = s.settle({{"key", position}});
    CHECK(p.trouble.empty());
    CHECK(s.volts(p, "r1.a", "r1.b") == near(12));
    CHECK(s.volts(p, "r2.a", "r2.b") == near(48));
    CHECK_FALSE(s.tied(p, "b1.pos", "b2.pos"));
    CHECK_FALSE(s.tied(p, "b1.neg", "b2.neg"));
    CHECK(std::fabs(p.load_a[0]) < 1e-9);
  }
  CHECK_FALSE(s.tied(s.settle({{"key", "off"}}), "key.a", "key.b"));
  CHECK(s.volts(s.settle({{"key", "on"}}), "key.b", "b1.neg") == near(12));
}

TEST_CASE("a tapped pack: sections share voltage and resistance, and a short meets just the cells between") {
  // 16 cells of 3.65 V and 1.2 mohm in 3 strings: 0.4 mohm a cell. Between taps 4 and 12 stand 8 cells, 29.2 V and
  // 3.2 mohm, with two joints of 1 mohm, two wires of 1 uohm and the bridging resistor of 10 mohm.
  const std::string pack = "pack, chemistry: lfp, series: 16, parallel: 3, cell_resistance: 1.2 mohm";
  Setup s(Drawing()
              .part("pack", pack)
              .part("slip", "resistor, ohms: 10 mohm")
              .part("r", "resistor, ohms: 100 ohm")
              .join("pack.tap12", "slip.a")
              .join("slip.b", "pack.tap4")
              .join("pack.pos", "r.a")
              .join("r.b", "pack.neg"));
  REQUIRE(s.loom.elements.sources.size() == 3);
  const OperatingPoint p = s.settle();
  CHECK(p.trouble.empty());
  const double through = s.amps(p, "w0");
  // The 100 ohm load adds its 0.5 A through the same cells: superposition on the middle section.
  const double load_a = s.amps(p, "w2");
  CHECK(through * (0.012002) == doctest::Approx(29.2 - (through + load_a) * 0.0032).epsilon(1e-6));
  CHECK(through == doctest::Approx(29.2 / 0.015202).epsilon(1e-4));
  CHECK(s.volts(p, "pack.pos", "pack.neg") == doctest::Approx(58.4 - through * 0.0032 - load_a * 0.0064).epsilon(1e-6));
}
