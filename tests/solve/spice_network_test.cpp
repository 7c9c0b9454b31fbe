// Settled situations against ngspice: every node voltage within 0.1 % of the largest source.
#include <doctest/doctest.h>

#include <cmath>

#include "bench.h"
#include "spice.h"
#include "spice_deck.h"
#include "texts.h"

using namespace loomproof;
using namespace loomproof::bench;

namespace {

double largest_source_v(const Circuit& circuit) {
  double largest = 0;
  for (const Source& s : circuit.loom->elements.sources) {
    if (s.full_v) largest = std::max(largest, *s.full_v);
  }
  return largest;
}

// Largest difference to ngspice of any node against the ground of its piece, as a share of the largest source.
double deviation(const Circuit& circuit, const OperatingPoint& point) {
  std::vector<std::string> vectors;
  for (int n = 0; n < circuit.nodes; ++n) vectors.push_back("v(" + laws::node_name(n) + ")");
  const auto found = spice::operating_point(laws::deck_of(circuit, point), vectors);
  double worst = 0;
  for (int n = 0; n < circuit.nodes; ++n) {
    const int ground = point.piece[n];
    const double theirs = found.at(vectors[n]) - found.at(vectors[ground]);
    const double ours = point.node_v[n] - point.node_v[ground];
    worst = std::max(worst, std::fabs(theirs - ours));
  }
  return worst / largest_source_v(circuit);
}

struct Asked {
  std::string name;
  std::map<std::string, std::string> moved = {};
  Charge charge = Charge::full;
  std::string duty = {};
};

void compare(Setup& s, const std::string& network, const std::vector<Asked>& all) {
  double worst = 0;
  std::string where;
  for (const Asked& asked : all) {
    CAPTURE(asked.name);
    const OperatingPoint p = s.settle(asked.moved, asked.charge, asked.duty);
    REQUIRE(p.trouble == "");
    const double off = deviation(s.circuit, p);
    CHECK(off < 1e-3);
    CHECK(laws::largest_residual_a(s.circuit, p) < 1e-5);
    if (off >= worst) {
      worst = off;
      where = asked.name;
    }
  }
  MESSAGE(network << ": " << all.size() << " situations, " << s.circuit.nodes << " nodes, worst deviation from ngspice "
                  << worst << " of the source voltage (" << where << ")");
}

}  // namespace

TEST_CASE("ngspice: the orchard cart") {
  Setup s(texts::of_file(SOURCE_ROOT + "/netlists/orchard-cart.yaml"));
  compare(s, "orchard cart",
          {{"idle", {}},
           {"key on", {{"key", "on"}}},
           {"key on, empty", {{"key", "on"}}, Charge::empty},
           {"climb, full", {{"key", "on"}, {"throttle", "full"}}, Charge::full, "climb"},
           {"climb, nominal", {{"key", "on"}, {"throttle", "full"}}, Charge::nominal, "climb"},
           {"cruise, nominal", {{"key", "on"}, {"throttle", "full"}}, Charge::nominal, "cruise"},
           {"slow, full", {{"key", "on"}}, Charge::full, "slow"},
           {"brake pressed", {{"key", "on"}, {"foot_brake", "pressed"}}},
           {"charger plugged", {{"charger", "plugged"}}},
           {"charger plugged, empty", {{"charger", "plugged"}, {"key", "on"}}, Charge::empty},
           {"lights, horn, indicator",
            {{"key", "on"}, {"lights", "on"}, {"horn_knob", "pressed"}, {"turn", "left"}},
            Charge::nominal}});
}

TEST_CASE("ngspice: the other demos, each at rest, in its duty points and with every switch moved") {
  for (const char* name : {"marshals-quad", "parcel-trike"}) {
    INFO(std::string(name));
    Setup s(texts::of_file(SOURCE_ROOT + "/netlists/" + name + ".yaml"));
    double worst = 0;
    int compared = 0;
    const auto check = [&](const Situation& situation) {
      const OperatingPoint p = s.network.settle(situation);
      if (!p.trouble.empty()) {
        // A duty point may be impossible here; every situation without one has to settle.
        CHECK(situation.duty.has_value());
        return;
      }
      const double off = deviation(s.circuit, p);
      CHECK(off < 1e-3);
      worst = std::max(worst, off);
      ++compared;
    };
    for (const Charge charge : {Charge::full, Charge::empty}) {
      Situation rest = s.situation({}, charge);
      check(rest);
      for (std::size_t part = 0; part < s.loom.parts.size(); ++part) {
        for (std::size_t i = 1; i < s.loom.parts[part].positions.size(); ++i) {
          Situation moved = rest;
          moved.positions[part] = static_cast<std::int8_t>(i);
          check(moved);
        }
      }
      Situation all = rest;
      for (std::size_t part = 0; part < s.loom.parts.size(); ++part) {
        if (s.loom.parts[part].name == "key" || s.loom.parts[part].name == "throttle") all.positions[part] = 1;
      }
      for (std::size_t d = 0; d < s.loom.duty.size(); ++d) {
        all.duty = DutyIndex{d};
        check(all);
      }
    }
    CHECK(compared > 10);
    MESSAGE(std::string(name) << ": " << compared << " situations, " << s.circuit.nodes
                              << " nodes, worst deviation from ngspice " << worst << " of the source voltage");
  }
}

TEST_CASE("ngspice: two batteries, diode OR, lamps and a display") {
  Setup s(Drawing()
              .part("b1", "battery, resistance: 30 mohm")
              .part("b2", "battery, full: 13 V, resistance: 50 mohm")
              .part("d1", "diode")
              .part("d2", "diode")
              .part("key", "switch, positions: [off, on]")
              .part("lamp", "lamp, watts: 55 W, volts: 12 V")
              .part("show", "display, watts: 5 W, volts: 12 V, works: 9 V to 16 V")
              .part("neg", "splice")
              .wire("a1", "b1.pos", "d1.anode", "size: 1 mm2, length: 3 m")
              .wire("a2", "b2.pos", "d2.anode", "size: 1 mm2, length: 5 m")
              .wire("a3", "d1.cathode", "key.a", "size: 1 mm2, length: 1 m")
              .wire("a4", "d2.cathode", "key.a", "size: 1 mm2, length: 1 m")
              .wire("a5", "key.b", "lamp.a", "size: 1 mm2, length: 2 m")
              .wire("a6", "key.a", "show.pos", "size: 0.5 mm2, length: 2 m")
              .wire("n1", "b1.neg", "neg", "size: 1 mm2, length: 1 m")
              .wire("n2", "b2.neg", "neg", "size: 1 mm2, length: 1 m")
              .wire("n3", "lamp.b", "neg", "size: 1 mm2, length: 1 m")
              .wire("n4", "show.neg", "neg", "size: 0.5 mm2, length: 1 m"));
  compare(s, "diode OR", {{"off", {}}, {"on", {{"key", "on"}}}, {"empty", {{"key", "on"}}, Charge::empty}});
}

TEST_CASE("ngspice: an overloaded converter and a charger at its limit on one pack") {
  Setup s(Drawing()
              .part("pack", "pack, chemistry: nmc, series: 20, parallel: 2, cell_resistance: 8 mohm")
              .part("charger", "charger, out: 84 V, limit: 12 A")
              .part("dcdc", "dcdc, in: 48 V to 90 V, out: 13.6 V, limit: 15 A, efficiency: 0.88, isolated: false")
              .part("key", "switch, positions: [off, on]")
              .part("lamp", "lamp, watts: 300 W, volts: 12 V")
              .wire("p1", "pack.pos", "dcdc.in_pos", "size: 6 mm2, length: 2 m")
              .wire("p2", "charger.pos", "pack.pos", "size: 2.5 mm2, length: 2 m")
              .wire("n1", "pack.neg", "dcdc.in_neg", "size: 6 mm2, length: 2 m")
              .wire("n2", "charger.neg", "pack.neg", "size: 2.5 mm2, length: 2 m")
              .wire("l1", "dcdc.out_pos", "key.a", "size: 1.5 mm2, length: 2 m")
              .wire("l2", "key.b", "lamp.a", "size: 1.5 mm2, length: 2 m")
              .wire("l3", "lamp.b", "dcdc.out_neg", "size: 1.5 mm2, length: 2 m"));
  compare(s, "overloaded converter",
          {{"rest", {}},
           {"lamp", {{"key", "on"}}},
           {"charging", {{"charger", "plugged"}, {"key", "on"}}, Charge::empty},
           {"charging full", {{"charger", "plugged"}, {"key", "on"}}, Charge::full}});
}

TEST_CASE("ngspice: tapped pack with a load across half of it, and a constant power") {
  Drawing d;
  d.rest = R"(
kinds:
  regulator:
    terminals: [pos, neg]
    attributes: {watts: {is: power}, from: {is: voltage}}
    inside:
      - {load: body, pos: pos, neg: neg, form: power, amount: watts, low: from}
)";
  d.part("pack", "pack, chemistry: lfp, series: 24, parallel: 1, cell_resistance: 3 mohm")
      .part("half", "resistor, ohms: 4 ohm")
      .part("reg", "regulator, watts: 1500 W, from: 40 V")
      .part("small", "regulator, watts: 60 W, from: 12 V")
      .wire("t8", "pack.tap8", "half.a", "size: 2.5 mm2, length: 1 m")
      .wire("t20", "pack.tap20", "half.b", "size: 2.5 mm2, length: 1 m")
      .wire("p", "pack.pos", "reg.pos", "size: 10 mm2, length: 3 m")
      .wire("n", "reg.neg", "pack.neg", "size: 10 mm2, length: 3 m")
      .wire("q", "pack.tap8", "small.pos", "size: 1 mm2, length: 2 m")
      .wire("m", "small.neg", "pack.neg", "size: 1 mm2, length: 2 m");
  Setup s(d);
  compare(s, "tapped pack", {{"full", {}}, {"nominal", {}, Charge::nominal}, {"empty", {}, Charge::empty}});
}
