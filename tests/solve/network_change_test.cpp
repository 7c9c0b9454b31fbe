// A changed circuit settles to what a fresh one drawn that way settles to, and a change leaves nothing behind.
#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "bench.h"

using namespace loomproof;
using namespace loomproof::bench;

namespace {

const std::string build = "size: 1 mm2, length: 2 m";

// Two batteries without a common conductor, a switched lamp and a relay on the first.
Drawing loom_with(bool lamp_wire, bool bridge, bool foreign_bridge) {
  Drawing d;
  d.part("b", "battery, full: 12 V, nominal: 12 V, empty: 12 V, resistance: 20 mohm")
      .part("other", "battery, full: 24 V, nominal: 24 V, empty: 24 V, resistance: 20 mohm")
      .part("load", "display, watts: 5 W, volts: 24 V, works: 18 V to 32 V")
      .part("key", "switch, positions: [off, on]")
      .part("rel", "relay, coil: 12 V 0.1 A")
      .part("lamp", "lamp, watts: 55 W, volts: 12 V")
      .part("show", "display, watts: 5 W, volts: 12 V, works: 9 V to 16 V");
  d.wire("a", "b.pos", "key.a", build).wire("c", "key.b", "rel.coil_a", build).wire("e", "rel.coil_b", "b.neg", build);
  d.wire("f", "b.pos", "rel.a", build);
  if (lamp_wire) d.wire("g", "rel.b", "lamp.a", build);
  d.wire("h", "lamp.b", "b.neg", build).wire("i", "rel.b", "show.pos", build).wire("k", "show.neg", "b.neg", build);
  d.wire("m", "other.pos", "load.pos", build).wire("n", "load.neg", "other.neg", build);
  d.part("r", "resistor, ohms: 0.5 ohm");
  if (bridge) d.join("rel.b", "r.a").join("r.b", "lamp.b");
  if (foreign_bridge) d.join("rel.b", "r.a").join("r.b", "other.neg");
  return d;
}

const std::vector<std::string> watched{"lamp.a", "lamp.b", "show.pos", "show.neg", "rel.b", "key.b"};

void check_same(const Setup& a, const OperatingPoint& p, const Setup& b, const OperatingPoint& q) {
  CHECK(p.trouble == q.trouble);
  for (const std::string& t : watched) {
    CAPTURE(t);
    REQUIRE(a.tied(p, t, "b.neg") == b.tied(q, t, "b.neg"));
    if (a.tied(p, t, "b.neg")) CHECK(a.volts(p, t, "b.neg") == doctest::Approx(b.volts(q, t, "b.neg")).epsilon(1e-6));
  }
}

}  // namespace

TEST_CASE("an opened wire is a wire that was never drawn") {
  Setup whole(loom_with(true, false, false)), cut(loom_with(false, false, false));
  CircuitChange change;
  change.open.push_back(whole.circuit.wire_branch[whole.wire("g").value]);
  for (const std::string key : {"off", "on"}) {
    whole.network.alter(change);
    check_same(whole, whole.settle({{"key", key}}), cut, cut.settle({{"key", key}}));
    whole.network.alter({});
    Setup fresh(loom_with(true, false, false));
    check_same(whole, whole.settle({{"key", key}}), fresh, fresh.settle({{"key", key}}));
  }
}

TEST_CASE("a bridge is a wire of its resistance, inside an island and between two") {
  for (const bool foreign : {false, true}) {
    CAPTURE(foreign);
    // The two joins of the drawn bridge stand for a thousandth of an ohm each or so: the altered loom gets their sum.
    Setup drawn(loom_with(true, !foreign, foreign)), whole(loom_with(true, false, false));
    const auto branch = [&](const char* name) {
      return drawn.circuit.branches[drawn.circuit.wire_branch[drawn.wire(name).value]].ohm;
    };
    const std::size_t joins = drawn.loom.wires.size();
    const double ohm =
        0.5 + branch(drawn.loom.wires[joins - 1].name.c_str()) + branch(drawn.loom.wires[joins - 2].name.c_str());
    CircuitChange change;
    const char* to = foreign ? "other.neg" : "lamp.b";
    change.bridges.push_back(
        {whole.circuit.node(whole.terminal("rel.b")), whole.circuit.node(whole.terminal(to)), ohm});
    for (const std::string key : {"off", "on"}) {
      whole.network.alter(change);
      check_same(whole, whole.settle({{"key", key}}), drawn, drawn.settle({{"key", key}}));
      const OperatingPoint p = whole.settle({{"key", key}});
      CHECK(whole.tied(p, "load.pos", "lamp.b") == foreign);
      whole.network.alter({});
      Setup fresh(loom_with(true, false, false));
      check_same(whole, whole.settle({{"key", key}}), fresh, fresh.settle({{"key", key}}));
    }
  }
}

TEST_CASE("welded, stuck and burnt out: the logic follows") {
  Setup s(loom_with(true, false, false));
  CircuitChange welded;
  welded.logic.contacts_closed.push_back(s.index(s.loom.elements.contacts, "rel", "no"));
  s.network.alter(welded);
  CHECK(s.volts(s.settle(), "lamp.a", "lamp.b") > 11);
  CircuitChange burnt;
  for (std::size_t i = 0; i < s.circuit.branches.size(); ++i) {
    if (s.circuit.branches[i].type == BranchType::coil) burnt.open.push_back(i);
  }
  s.network.alter(burnt);
  const OperatingPoint p = s.settle({{"key", "on"}});
  CHECK(p.logic.coil_on[0] == 0);
  CHECK(std::fabs(s.volts(p, "lamp.a", "lamp.b")) < 1e-6);
  s.network.alter({});
  CHECK(s.settle({{"key", "on"}}).logic.coil_on[0] == 1);
}
