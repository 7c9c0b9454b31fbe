// Zones are found by which source can reach a terminal, not by its name.
#include <doctest/doctest.h>

#include "read/read.h"
#include "solve/circuit_graph.h"
#include "texts.h"

using namespace std::string_literals;

namespace {

loomproof::Zone zone_of(const std::string& text, std::string_view terminal) {
  const loomproof::ReadResult read = loomproof::read_loom(text, "zones");
  REQUIRE(read.loom);
  const loomproof::Circuit circuit = loomproof::build_circuit(*read.loom);
  const auto zones = loomproof::zones_of(loomproof::graph_of(circuit), circuit);
  const auto t = read.loom->find_terminal(terminal);
  REQUIRE(t);
  return zones[t->value];
}

const std::string between_resistors = R"(loom: 1
vehicle: {name: Bench}
parts:
  pack: {is: pack, chemistry: lfp, series: 16, cell_resistance: 1 mohm}
  first: {is: resistor, ohms: 33 ohm}
  relay: {is: relay, carries: 5 A, coil: 12 V 0.1 A}
  second: {is: resistor, ohms: 33 ohm}
  small: {is: battery, resistance: 20 mohm}
  lamp: {is: lamp, watts: 5 W, volts: 12 V}
wires:
  A: {from: pack.pos, to: first.a}
  B: {from: first.b, to: relay.a}
  C: {from: relay.b, to: second.a}
  D: {from: second.b, to: pack.neg}
  E: {from: small.pos, to: lamp.a}
  F: {from: lamp.b, to: small.neg}
)"s;

}  // namespace

TEST_CASE("a wire between two precharge resistors belongs to traction") {
  using loomproof::Zone;
  CHECK(zone_of(between_resistors, "pack.pos") == Zone::traction);
  CHECK(zone_of(between_resistors, "relay.a") == Zone::traction);
  CHECK(zone_of(between_resistors, "relay.b") == Zone::traction);
  CHECK(zone_of(between_resistors, "lamp.a") == Zone::low_voltage);
  CHECK(zone_of(between_resistors, "lamp.b") == Zone::low_voltage);
}

TEST_CASE("a pole of the pack stays traction when it is bonded to the frame, and the 12 V side does not become it") {
  const std::string bonded = R"(loom: 1
vehicle: {name: Bench}
parts:
  pack: {is: pack, chemistry: nmc, series: 24, cell_resistance: 1 mohm}
  heater: {is: load, watts: 500 W, volts: 88 V}
  small: {is: battery, resistance: 20 mohm}
  lamp: {is: lamp, watts: 5 W, volts: 12 V}
  frame: {is: frame}
wires:
  A: {from: pack.pos, to: heater.pos}
  B: {from: heater.neg, to: pack.neg}
  C: {from: pack.neg, to: frame.rear}
  D: {from: small.pos, to: lamp.a}
  E: {from: lamp.b, to: frame.head}
  F: {from: small.neg, to: frame.head}
)";
  for (const char* t : {"pack.neg", "heater.neg", "heater.pos"}) CHECK(zone_of(bonded, t) == loomproof::Zone::traction);
  for (const char* t : {"small.neg", "lamp.b", "lamp.a"}) CHECK(zone_of(bonded, t) == loomproof::Zone::low_voltage);
}

TEST_CASE("what an input listens to is a signal along its whole way, also behind a plug") {
  const std::string cart = texts::of_file(std::string(SOURCE_ROOT) + "/netlists/orchard-cart.yaml");
  for (const char* t : {"drive.throttle_signal", "grip.p2", "grip.s2", "throttle.signal"})
    CHECK_MESSAGE(zone_of(cart, t) == loomproof::Zone::signal, t);
  // An input that a source does reach keeps the source's zone.
  CHECK(zone_of(cart, "drive.brake") == loomproof::Zone::low_voltage);
}
