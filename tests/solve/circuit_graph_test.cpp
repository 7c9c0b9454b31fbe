// The circuit as a graph, on looms small enough to count by eye.
#include "solve/circuit_graph.h"

#include <doctest/doctest.h>

#include <cmath>
#include <set>

#include "bench.h"
#include "solve/conductor_pieces.h"

using namespace loomproof;
using namespace loomproof::bench;

namespace {

bool any_branch(const Branch&) {
  return true;
}

int node(const Setup& s, const std::string& terminal) {
  return s.circuit.node(s.terminal(terminal));
}

}  // namespace

TEST_CASE("islands: what no conductor joins has islands of its own, on both sides of an isolated converter") {
  Setup s(Drawing()
              .part("b", "battery, full: 48 V, nominal: 48 V, empty: 48 V, resistance: 1 mohm")
              .part("dcdc", "dcdc, in: 36 V to 75 V, out: 13.2 V, limit: 20 A, isolated: true")
              .part("lamp", "lamp, watts: 5 W, volts: 12 V")
              .join("b.pos", "dcdc.in_pos")
              .join("b.neg", "dcdc.in_neg")
              .join("dcdc.out_pos", "lamp.a")
              .join("lamp.b", "dcdc.out_neg"));
  const auto island = [&](const char* t) { return s.circuit.island_of[node(s, t)]; };
  CHECK(island("b.pos") == island("dcdc.in_neg"));
  CHECK(island("lamp.a") == island("dcdc.out_neg"));
  CHECK(island("b.pos") != island("lamp.a"));
}

TEST_CASE("components, walks and loops: a ring of four wires opened at one of them") {
  Setup s(Drawing()
              .part("p", "splice")
              .part("q", "splice")
              .part("r", "splice")
              .part("t", "splice")
              .wire("pq", "p", "q", "size: 1 mm2, length: 1 m")
              .wire("qr", "q", "r", "size: 1 mm2, length: 2 m")
              .wire("rt", "r", "t", "size: 1 mm2, length: 3 m")
              .wire("tp", "t", "p", "size: 1 mm2, length: 10 m"));
  const CircuitGraph graph = graph_of(s.circuit);
  const auto names = [&](const std::vector<std::size_t>& walk) {
    std::string out;
    for (std::size_t i : walk) out += s.loom.wires[s.circuit.branches[i].index].name + " ";
    return out;
  };
  const auto p = s.circuit.node(s.loom.wires[0].from);
  const auto t = s.circuit.node(s.loom.wires[3].from);
  CHECK(names(walk_between(graph, s.circuit, p, t, any_branch)) == "tp ");  // fewest branches, however long
  const BranchFilter without_tp = [&](const Branch& b) { return s.loom.wires[b.index].name != "tp"; };
  CHECK(names(walk_between(graph, s.circuit, p, t, without_tp)) == "pq qr rt ");
  const std::vector<int> ring = components(graph, s.circuit, without_tp);
  CHECK(ring[p] == ring[t]);  // a ring holds together when it is opened once
  const BranchFilter opened_twice = [&](const Branch& b) {
    return s.loom.wires[b.index].name != "tp" && s.loom.wires[b.index].name != "qr";
  };
  const std::vector<int> halves = components(graph, s.circuit, opened_twice);
  CHECK(halves[p] != halves[t]);
  CHECK(walk_between(graph, s.circuit, p, t, opened_twice).empty());
  // By length the other way round is shorter: 1 + 2 + 3 m against 10 m.
  const auto length = wire_length_from_any(graph, s.circuit, {static_cast<std::size_t>(p)}, any_branch, false);
  CHECK(length[t] == doctest::Approx(6));
}

TEST_CASE("parallel wires: the shorter counts, and one of unknown length counts as endless") {
  Setup s(Drawing()
              .part("p", "splice")
              .part("q", "splice")
              .part("r", "splice")
              .wire("long", "p", "q", "size: 1 mm2, length: 4 m")
              .wire("short", "p", "q", "size: 1 mm2, length: 1.5 m")
              .wire("unknown", "q", "r", "size: 1 mm2"));
  const CircuitGraph graph = graph_of(s.circuit);
  const int p = s.circuit.node(s.loom.wires[0].from), q = s.circuit.node(s.loom.wires[0].to);
  const int r = s.circuit.node(s.loom.wires[2].to);
  const auto length = wire_length_from_any(graph, s.circuit, {static_cast<std::size_t>(p)}, any_branch, false);
  CHECK(length[q] == doctest::Approx(1.5));
  CHECK(length[r] >= 1e6);
  CHECK(std::isfinite(length[r]));
}

TEST_CASE("a dangling wire end has the voltage of its other end and carries nothing") {
  Setup s(Drawing()
              .part("b", "battery, full: 12 V, nominal: 12 V, empty: 12 V, resistance: 10 mohm")
              .part("lamp", "lamp, watts: 5 W, volts: 12 V")
              .part("loose", "splice")
              .join("b.pos", "lamp.a")
              .join("lamp.b", "b.neg")
              .wire("stub", "b.pos", "loose", "size: 1 mm2, length: 2 m"));
  const OperatingPoint p = s.settle();
  CHECK(s.amps(p, "stub") == 0);
}

TEST_CASE("conductor pieces follow the contacts, and a resistor or an open contact parts them") {
  Setup s(Drawing()
              .part("b", "battery, full: 12 V, nominal: 12 V, empty: 12 V, resistance: 10 mohm")
              .part("key", "switch, positions: [off, on]")
              .part("r", "resistor, ohms: 47 ohm")
              .part("d", "diode")
              .join("b.pos", "key.a")
              .join("key.b", "r.a")
              .join("key.b", "d.anode"));
  ConductorPieces with(s.circuit, true), without(s.circuit, false);
  for (const std::string position : {"on", "off", "on"}) {
    const OperatingPoint p = s.settle({{"key", position}});
    CHECK(with.joined(p.logic, node(s, "b.pos"), node(s, "r.a")) == (position == "on"));
    CHECK(with.joined(p.logic, node(s, "b.pos"), node(s, "d.cathode")) == (position == "on"));
    CHECK_FALSE(without.joined(p.logic, node(s, "b.pos"), node(s, "d.cathode")));
    CHECK_FALSE(with.joined(p.logic, node(s, "r.a"), node(s, "r.b")));
  }
}

TEST_CASE("diodes: free-wheeling ones are no way, one in the feed is, one the wrong way round is told from both") {
  const auto drawn = [](const std::string& across) {
    Drawing d;
    d.part("b", battery(12, "10 mohm"))
        .part("key", "switch, positions: [off, on], carries: 5 A, volts: 16 V")
        .part("feed", "diode, carries: 3 A, blocks: 50 V")
        .part("across", "diode, carries: 3 A, blocks: 50 V")
        .part("rel", "relay, carries: 5 A, volts: 30 V, coil: 12 V 0.1 A, suppression: none")
        .join("b.pos", "key.a")
        .join("key.b", "feed.anode")
        .join("feed.cathode", "rel.coil_a")
        .join("rel.coil_b", "b.neg");
    const bool turned = across == "turned";
    d.join("rel.coil_a", turned ? "across.anode" : "across.cathode")
        .join("rel.coil_b", turned ? "across.cathode" : "across.anode");
    return d;
  };
  const auto stand = [](const Setup& s, const std::string& name) {
    const auto& diodes = s.loom.elements.diodes;
    for (std::size_t i = 0; i < diodes.size(); ++i) {
      if (s.loom.part(diodes[i].part).name == name) return s.circuit.diode_stands[i];
    }
    throw std::runtime_error("no diode " + name);
  };
  const auto is_way = [](const Setup& s, const std::string& name) {
    return std::any_of(s.circuit.branches.begin(), s.circuit.branches.end(), [&](const Branch& b) {
      return b.type == BranchType::diode && s.loom.part(s.loom.elements.diodes[b.index].part).name == name &&
             is_conductor(s.circuit, b);
    });
  };
  Setup right(drawn("right")), turned(drawn("turned"));
  CHECK(stand(right, "across") == DiodeStand::backward);
  CHECK(stand(right, "feed") == DiodeStand::apart);
  CHECK_FALSE(is_way(right, "across"));
  CHECK(is_way(right, "feed"));
  CHECK(stand(turned, "across") == DiodeStand::forward);
  CHECK(is_way(turned, "across"));
}
