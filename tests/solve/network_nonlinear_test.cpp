// Diodes, limits, converters and loads that regulate themselves: closed forms, and the corners where they turn.
#include <doctest/doctest.h>

#include <cmath>

#include "bench.h"

using namespace loomproof;
using namespace loomproof::bench;

namespace {

// A supply that limits its current and takes none back.
const char* const own_kinds = R"(
kinds:
  supply:
    terminals: [pos, neg]
    attributes: {volts: {is: voltage}, limit: {is: current}, ohms: {is: resistance}}
    inside:
      - {source: out, pos: pos, neg: neg, full: volts, nominal: volts, empty: volts, ohm: ohms, limit: limit,
         sinks: "false"}
  regulator:
    terminals: [pos, neg]
    attributes: {watts: {is: power}, from: {is: voltage}}
    inside:
      - {load: body, pos: pos, neg: neg, form: power, amount: watts, low: from}
)";

Drawing with_kinds() {
  Drawing d;
  d.rest = own_kinds;
  return d;
}

}  // namespace

TEST_CASE("diode OR: the higher source feeds, the lower one rests") {
  const auto drawing = [](double first, double second) {
    return Drawing()
        .part("b1", battery(first, "0.1 ohm"))
        .part("b2", battery(second, "0.1 ohm"))
        .part("d1", "diode")
        .part("d2", "diode")
        .part("r", "resistor, ohms: 10 ohm")
        .join("b1.pos", "d1.anode")
        .join("b2.pos", "d2.anode")
        .wire("i1", "d1.cathode", "r.a")
        .wire("i2", "d2.cathode", "r.a")
        .join("b1.neg", "r.b")
        .join("b2.neg", "r.b");
  };
  Setup s(drawing(12, 14));
  const OperatingPoint p = s.settle();
  CHECK(p.trouble.empty());
  CHECK(s.amps(p, "i2") == near((14 - 0.7) / (10 + 0.1 + 0.01)));
  CHECK(std::fabs(s.amps(p, "i1")) < 1e-9);
  Setup twin(drawing(13, 13));
  const OperatingPoint both = twin.settle();
  CHECK(both.trouble.empty());
  CHECK(twin.amps(both, "i1") == near((13 - 0.7) / (10 + 0.11 / 2) / 2));
}

TEST_CASE("four diodes in a bridge give the same whichever way the source is put in") {
  for (const bool turned : {false, true}) {
    Setup s(Drawing()
                .part("b", battery(24, "1 uohm"))
                .part("d1", "diode")
                .part("d2", "diode")
                .part("d3", "diode")
                .part("d4", "diode")
                .part("r", "resistor, ohms: 10 ohm")
                .join(turned ? "b.neg" : "b.pos", "d1.anode")
                .join("d1.anode", "d2.cathode")
                .join(turned ? "b.pos" : "b.neg", "d3.anode")
                .join("d3.anode", "d4.cathode")
                .wire("out", "d1.cathode", "r.a")
                .join("d3.cathode", "r.a")
                .join("d2.anode", "r.b")
                .join("d4.anode", "r.b"));
    const OperatingPoint p = s.settle();
    CHECK(p.trouble.empty());
    CHECK(s.volts(p, "r.a", "r.b") == near((24 - 1.4) * 10 / 10.02));
  }
}

TEST_CASE("a diode into an open switch passes its voltage and no current") {
  Setup s(Drawing()
              .part("b", battery(12, "0.1 ohm"))
              .part("d", "diode")
              .part("key", "switch, positions: [off, on]")
              .part("r", "resistor, ohms: 10 ohm")
              .join("b.pos", "d.anode")
              .join("d.cathode", "key.a")
              .join("key.b", "r.a")
              .join("r.b", "b.neg"));
  const OperatingPoint p = s.settle({{"key", "off"}});
  CHECK(p.trouble == "");
  REQUIRE(s.tied(p, "d.cathode", "b.neg"));
  CHECK(s.volts(p, "d.cathode", "b.neg") == near(11.3));
  CHECK(std::fabs(p.diode_a[0]) < 1e-6);
  const OperatingPoint on = s.settle({{"key", "on"}});
  CHECK(on.trouble.empty());
  CHECK(on.diode_a[0] == near(11.3 / 10.13));
}

TEST_CASE("a diode against the source carries nothing") {
  Setup s(Drawing()
              .part("b", battery(12, "0.1 ohm"))
              .part("d", "diode")
              .part("r", "resistor, ohms: 10 ohm")
              .join("b.pos", "d.cathode")
              .join("d.anode", "r.a")
              .join("r.b", "b.neg"));
  const OperatingPoint p = s.settle();
  CHECK(p.trouble.empty());
  CHECK(std::fabs(p.diode_a[0]) < 1e-12);
  CHECK(std::fabs(p.source_a[0]) < 1e-9);
}

TEST_CASE("a source that limits its current: voltage source up to the limit, current source beyond") {
  const auto drawing = [](double ohm) {
    return with_kinds()
        .part("s", "supply, volts: 20 V, limit: 4 A, ohms: 0.5 ohm")
        .part("r", fmt::format("resistor, ohms: {} ohm", ohm))
        .join("s.pos", "r.a")
        .join("r.b", "s.neg");
  };
  Setup light(drawing(9.5));
  CHECK(light.amps(light.settle(), "w0") == near(2.0));
  Setup just(drawing(4.5));  // exactly the limit
  CHECK(just.amps(just.settle(), "w0") == near(4.0));
  Setup over(drawing(1));
  const OperatingPoint p = over.settle();
  CHECK(p.trouble.empty());
  CHECK(over.amps(p, "w0") == near(4.0));
  CHECK(over.volts(p, "r.a", "r.b") == near(4.0));
  CHECK(p.source_a[0] == near(4.0));
  Setup shorted(with_kinds().part("s", "supply, volts: 20 V, limit: 4 A, ohms: 0.5 ohm").join("s.pos", "s.neg"));
  CHECK(shorted.amps(shorted.settle(), "w0") == near(4.0));
}

TEST_CASE("a source that limited and is then cut off rests at its open voltage") {
  // The overload's own relay opens the way once the supply limits: the coil sits on another battery through the
  // supply's voltage. Here simply: relay b pulls in from a battery and its resting contact parts the overload.
  Setup s(with_kinds()
              .part("s", "supply, volts: 20 V, limit: 4 A, ohms: 0.5 ohm")
              .part("b", battery(12, "0.1 ohm"))
              .part("rel", "changeover-relay, coil: 12 V 0.1 A")
              .part("r", "resistor, ohms: 1 ohm")
              .join("s.pos", "rel.common")
              .join("rel.resting", "r.a")
              .join("r.b", "s.neg")
              .join("b.pos", "rel.coil_a")
              .join("rel.coil_b", "b.neg"));
  const OperatingPoint p = s.settle();
  CHECK(p.trouble == "");
  CHECK(s.volts(p, "s.pos", "s.neg") == near(20));
  CHECK(std::fabs(s.amps(p, "w0")) < 1e-9);
}

TEST_CASE("sources in parallel at different voltages: one that sinks is charged, one that does not lets go") {
  Setup batteries(Drawing()
                      .part("b1", battery(14, "0.02 ohm"))
                      .part("b2", battery(12, "0.02 ohm"))
                      .wire("i", "b1.pos", "b2.pos")
                      .join("b1.neg", "b2.neg"));
  CHECK(batteries.amps(batteries.settle(), "i") == doctest::Approx(50).epsilon(1e-4));

  Setup supply(with_kinds()
                   .part("b1", battery(14, "0.02 ohm"))
                   .part("s", "supply, volts: 12 V, limit: 5 A, ohms: 0.1 ohm")
                   .wire("i", "b1.pos", "s.pos")
                   .join("b1.neg", "s.neg"));
  const OperatingPoint rest = supply.settle();
  CHECK(rest.trouble.empty());
  CHECK(std::fabs(supply.amps(rest, "i")) < 1e-6);

  Setup charging(with_kinds()
                     .part("b1", battery(12, "0.02 ohm"))
                     .part("s", "supply, volts: 14 V, limit: 5 A, ohms: 0.1 ohm")
                     .wire("i", "s.pos", "b1.pos")
                     .join("b1.neg", "s.neg"));
  CHECK(charging.amps(charging.settle(), "i") == near(5.0));

  Setup two(with_kinds()
                .part("s1", "supply, volts: 13.8 V, limit: 5 A, ohms: 0.1 ohm")
                .part("s2", "supply, volts: 13.2 V, limit: 5 A, ohms: 0.1 ohm")
                .part("r", "resistor, ohms: 1.5 ohm")
                .wire("i1", "s1.pos", "r.a")
                .wire("i2", "s2.pos", "r.a")
                .join("s1.neg", "r.b")
                .join("s2.neg", "r.b"));
  // 1.5 ohm wants more than 5 A: the first one limits and the second gives the rest.
  const OperatingPoint p = two.settle();
  CHECK(p.trouble.empty());
  CHECK(two.amps(p, "i1") == near(5.0));
  CHECK(two.volts(p, "r.a", "r.b") == near((5 + 13.2 / 0.1) / (1 / 0.1 + 1 / 1.5)));
}

TEST_CASE("constant-current load: works down to its voltage, below it is a resistance") {
  const auto drawing = [](double volts) {
    return Drawing()
        .part("b", battery(volts, "1 ohm"))
        .part("l", "display, watts: 24 W, volts: 12 V, works: 9 V to 16 V")
        .join("b.pos", "l.pos")
        .join("l.neg", "b.neg");
  };
  Setup well(drawing(12));
  CHECK(well.amps(well.settle(), "w0") == near(2.0));
  Setup starved(drawing(10));
  const OperatingPoint p = starved.settle();
  CHECK(p.trouble.empty());
  CHECK(starved.amps(p, "w0") == near(10 / (1 + 4.5)));  // 9 V / 2 A
  CHECK(p.load_a[0] == near(10 / 5.5));
}

TEST_CASE("constant-power load: v = (E + sqrt(E^2 - 4 R P)) / 2, up to its edge and beyond") {
  const auto drawing = [](double watts) {
    return with_kinds()
        .part("b", battery(50, "1 ohm"))
        .part("l", fmt::format("regulator, watts: {} W, from: 10 V", watts))
        .join("b.pos", "l.pos")
        .join("l.neg", "b.neg");
  };
  for (const double watts : {100.0, 400.0, 600.0, 620.0}) {
    CAPTURE(watts);
    Setup s(drawing(watts));
    const OperatingPoint p = s.settle();
    CHECK(p.trouble.empty());
    const double v = (50 + std::sqrt(2500 - 4 * 1.000002 * watts)) / 2;
    CHECK(s.volts(p, "l.pos", "l.neg") == doctest::Approx(v).epsilon(1e-6));
    CHECK(p.load_a[0] == doctest::Approx(watts / v).epsilon(1e-6));
  }
  // More than E^2 / 4R cannot be had: the load starves, and Kirchhoff holds all the same.
  Setup s(drawing(700));
  const OperatingPoint p = s.settle();
  if (p.trouble.empty()) {
    const double v = s.volts(p, "l.pos", "l.neg");
    CHECK(v < 25);
    CHECK(p.load_a[0] == near(50 - v));
  }
}

TEST_CASE("DC-DC converter: constant power on its input, its limit on its output") {
  const auto drawing = [](double ohm) {
    return Drawing()
        .part("b", battery(58.4, "0.1 ohm"))
        .part("dcdc", "dcdc, in: 36 V to 75 V, out: 13.2 V, limit: 20 A, efficiency: 0.9, isolated: true")
        .part("r", fmt::format("resistor, ohms: {} ohm", ohm))
        .wire("in", "b.pos", "dcdc.in_pos")
        .join("dcdc.in_neg", "b.neg")
        .wire("out", "dcdc.out_pos", "r.a")
        .join("r.b", "dcdc.out_neg");
  };
  for (const double ohm : {1.0, 0.2}) {
    Setup s(drawing(ohm));
    const OperatingPoint p = s.settle();
    CHECK(p.trouble.empty());
    const bool limited = 13.2 / (ohm + 0.005) > 20;
    const double out_a = limited ? 20 : 13.2 / (ohm + 0.005);
    CHECK(s.amps(p, "out") == near(out_a));
    const double watts = 2 + out_a * out_a * ohm / 0.9;
    const double v = (58.4 + std::sqrt(58.4 * 58.4 - 4 * 0.1 * watts)) / 2;
    CHECK(s.volts(p, "dcdc.in_pos", "dcdc.in_neg") == near(v));
    CHECK(s.amps(p, "in") == near(watts / v));
    CHECK_FALSE(s.tied(p, "dcdc.in_neg", "dcdc.out_neg"));
  }
}

TEST_CASE("a converter outside its window gives and draws nothing") {
  for (const double volts : {35.0, 76.0}) {
    Setup s(Drawing()
                .part("b", battery(volts, "0.1 ohm"))
                .part("dcdc", "dcdc, in: 36 V to 75 V, out: 13.2 V, limit: 20 A, isolated: true")
                .part("r", "resistor, ohms: 1 ohm")
                .join("b.pos", "dcdc.in_pos")
                .join("dcdc.in_neg", "b.neg")
                .wire("out", "dcdc.out_pos", "r.a")
                .join("r.b", "dcdc.out_neg"));
    const OperatingPoint p = s.settle();
    CHECK(p.trouble.empty());
    CHECK(std::fabs(s.amps(p, "out")) < 1e-12);
    CHECK(std::fabs(p.source_a[0]) < 1e-9);
  }
}

TEST_CASE("a converter whose own draw takes its input below the window hunts, and is not given a number") {
  // 37 V open; 264 W of output want 7.4 A or more, and 0.5 ohm takes 3.7 V: off at once, on again, and so on.
  Setup s(Drawing()
              .part("b", battery(37, "0.5 ohm"))
              .part("dcdc", "dcdc, in: 36 V to 75 V, out: 13.2 V, limit: 20 A, isolated: true")
              .part("r", "resistor, ohms: 0.7 ohm")
              .join("b.pos", "dcdc.in_pos")
              .join("dcdc.in_neg", "b.neg")
              .join("dcdc.out_pos", "r.a")
              .join("r.b", "dcdc.out_neg"));
  const OperatingPoint p = s.settle();
  CHECK(p.trouble.find("chatters") != std::string::npos);
  CHECK(p.trouble.find("dcdc.stage") != std::string::npos);
}

TEST_CASE("two converters on one output: the higher carries until its limit") {
  Drawing d;
  d.part("b", battery(58.4, "1 mohm"));
  for (const auto& [name, out] : {std::pair{"high", "13.8 V"}, std::pair{"low", "13.2 V"}}) {
    d.part(name, fmt::format("dcdc, in: 36 V to 75 V, out: {}, limit: 10 A, isolated: true", out));
    d.join("b.pos", std::string(name) + ".in_pos").join(std::string(name) + ".in_neg", "b.neg");
    d.wire(std::string("i_") + name, std::string(name) + ".out_pos", "r.a");
    d.join("r.b", std::string(name) + ".out_neg");
  }
  d.part("r", "resistor, ohms: 1 ohm");
  Setup s(d);
  const OperatingPoint p = s.settle();
  CHECK(p.trouble.empty());
  CHECK(s.amps(p, "i_high") == near(10));
  CHECK(s.volts(p, "r.a", "r.b") == near((10 + 13.2 / 0.005) / (1 / 0.005 + 1)));
}

TEST_CASE("a load that wants more than a limited source gives starves it rather than break Kirchhoff") {
  Setup s(with_kinds()
              .part("s", "supply, volts: 20 V, limit: 4 A, ohms: 0.5 ohm")
              .part("l", "horn, draws: 6 A, volts: 12 V, works: 9 V to 16 V")
              .join("s.pos", "l.a")
              .join("l.b", "s.neg"));
  const OperatingPoint p = s.settle();
  CHECK(p.trouble.empty());
  CHECK(s.amps(p, "w0") == near(4));
  CHECK(s.volts(p, "l.a", "l.b") == near(6));  // 4 A through 9 V / 6 A
}

// Ohm's law on both branches of ours: a resistance up to its lowest voltage, and no more current than there beyond it.
TEST_CASE("a constant-power load fed backward draws no more than at its lowest voltage") {
  for (const double volts : {6.0, 12.0, 18.0, 28.8, 60.0}) {
    CAPTURE(volts);
    Setup s(with_kinds()
                .part("b", battery(volts, "0.1 ohm"))
                .part("r", "regulator, watts: 36 W, from: 18 V")
                .wire("i", "b.pos", "r.neg")
                .join("r.pos", "b.neg"));
    const OperatingPoint p = s.settle();
    CHECK(p.trouble.empty());
    const double as_resistance = volts / (0.1 + 18.0 / 2.0);  // 36 W at 18 V are 2 A
    CHECK(s.amps(p, "i") == near(std::min(2.0, as_resistance)));
    CHECK(p.load_a[0] == near(-std::min(2.0, as_resistance)));
  }
}
