// Precharge against closed forms and against ngspice transients.
#include "solve/precharge.h"

#include <doctest/doctest.h>

#include <cmath>
#include <sstream>
#include <string>

#include "solve/inrush.h"
#include "spice.h"

using namespace loomproof;

namespace {

PrechargeCircuit plain() {
  PrechargeCircuit circuit;
  circuit.source = Volt(100.8);
  circuit.source_resistance = Ohm(0.06);
  circuit.resistor = Ohm(470);
  circuit.capacitance = Farad(2.2e-3);
  return circuit;
}

// The same circuit for ngspice. The constant-power load is a current source behind a switch with hysteresis; below 1 mV
// it is limited, which matters only where a load holds the bus at nothing.
std::string netlist(const PrechargeCircuit& c) {
  std::ostringstream deck;
  deck.precision(15);
  // At its own tolerances ngspice misses switchings by up to a millisecond, which a hunting bus adds up.
  deck << ".options reltol=1e-6 method=gear\n";
  deck << "v1 src 0 " << c.source.value << "\nr1 src mid " << c.source_resistance.value << "\nr2 mid bus "
       << c.resistor.value << "\nc1 bus 0 " << c.capacitance.value << " ic=" << c.initial.value << "\n";
  if (c.load) deck << "r3 bus 0 " << c.load->value << "\n";
  if (c.leakage.value > 0) deck << "b1 bus 0 i=v(bus)>1e-3 ? " << c.leakage.value << " : 0\n";
  if (c.power.value > 0) {
    const double middle = (c.starts_at.value + c.stops_at.value) / 2, half = (c.starts_at.value - c.stops_at.value) / 2;
    deck << "v2 one 0 1\ns1 one on bus 0 hysteresis\nr4 on 0 1k\n.model hysteresis sw vt=" << middle << " vh=" << half
         << " ron=1m roff=1g\nb2 bus 0 i=v(on)>0.5 ? " << c.power.value << "/max(v(bus),1e-3) : 0\n";
  }
  return deck.str();
}

// Largest distance from ngspice in volts.
double apart_v(const PrechargeCircuit& circuit, double until_s) {
  const spice::Transient run = spice::transient(netlist(circuit), until_s / 4000, until_s, {"v(bus)"});
  double worst_v = 0;
  for (const BusPoint& point : precharge_transient(circuit, Second(until_s), 500))
    worst_v = std::max(worst_v, std::fabs(run.at(point.time_s) - point.voltage_v));
  return worst_v;
}

void compare(const std::string& name, const PrechargeCircuit& circuit, double until_s) {
  const double worst_v = apart_v(circuit, until_s);
  MESSAGE(name, ": ", worst_v / circuit.source.value * 100, " % of the source");
  CHECK(worst_v < 0.005 * circuit.source.value);
}

}  // namespace

TEST_CASE("an unloaded bus follows the closed form") {
  const PrechargeCircuit circuit = plain();
  const PrechargeOutcome outcome = precharge_outcome(circuit);
  CHECK(outcome.time_constant.value == doctest::Approx(470.06 * 2.2e-3));
  CHECK(outcome.to_fraction->value == doctest::Approx(470.06 * 2.2e-3 * std::log(20)));
  CHECK(outcome.final.value == doctest::Approx(100.8));
  CHECK_FALSE(outcome.stalls);
  CHECK(outcome.peak_resistor_power.value == doctest::Approx(470 * std::pow(100.8 / 470.06, 2)));
  CHECK(outcome.shorted_power == outcome.peak_resistor_power);
  CHECK(outcome.held_power.value == doctest::Approx(0));
  for (const BusPoint& point : precharge_transient(circuit, Second(5)))
    CHECK(point.voltage_v ==
          doctest::Approx(charging_voltage(Volt(100.8), Ohm(470.06), Farad(2.2e-3), Second(point.time_s)).value));
}

// Source: worked example 14 (inputs seen, number by the stated formula).
TEST_CASE("worked example 14: energy in a precharge resistor") {
  for (const double ohm : {10.0, 100.0, 1000.0}) {
    PrechargeCircuit circuit;
    circuit.source = Volt(100);
    circuit.resistor = Ohm(ohm);
    circuit.capacitance = Farad(0.01);
    CHECK(resistor_energy(circuit, Second(30 * ohm * 0.01)).value == doctest::Approx(50).epsilon(1e-9));
  }
}

// Source: the trade's own example, 7.2 mF through 750 ohm, 5 time constants = 27 s (seen).
TEST_CASE("timer against time constant") {
  PrechargeCircuit circuit = plain();
  circuit.capacitance = Farad(7.2e-3);
  circuit.resistor = Ohm(750);
  circuit.source_resistance = Ohm(0);
  const ClosingSurge surge = closing_surge(circuit, Second(27));
  CHECK(surge.time_constants == doctest::Approx(5));
  CHECK(surge.residual.value == doctest::Approx(100.8 * std::exp(-5)));
  CHECK(std::isinf(surge.peak.value));
}

// By hand: RC = 0.8 s, closed at 1.0 s: 100.8 exp(-1.25) = 28.9 V left; 80 mohm: 361 A.
TEST_CASE("closing too soon") {
  PrechargeCircuit circuit = plain();
  circuit.source_resistance = Ohm(0.08);
  circuit.resistor = Ohm(0.8 / 2.2e-3 - 0.08);
  const ClosingSurge surge = closing_surge(circuit, Second(1));
  CHECK(surge.residual.value == doctest::Approx(28.88).epsilon(1e-3));
  CHECK(surge.peak.value == doctest::Approx(361).epsilon(1e-3));
  CHECK(surge.energy.value == doctest::Approx(0.5 * 2.2e-3 * 28.88 * 28.88).epsilon(2e-3));
}

TEST_CASE("loads that hold the bus down") {
  PrechargeCircuit circuit = plain();
  circuit.load = Ohm(2000);
  PrechargeOutcome outcome = precharge_outcome(circuit);
  CHECK(outcome.final.value == doctest::Approx(100.8 * 2000 / 2470.06));
  CHECK(outcome.stalls);
  CHECK_FALSE(outcome.to_fraction);
  CHECK(outcome.held_power.value == doctest::Approx(470 * std::pow(100.8 / 2470.06, 2)));
  circuit.load = Ohm(20000);
  outcome = precharge_outcome(circuit);
  CHECK_FALSE(outcome.stalls);
  CHECK(outcome.to_fraction->value > 470.06 * 2.2e-3 * std::log(20));
  // Leakage of more than V/R: nothing is left.
  circuit = plain();
  circuit.leakage = Ampere(0.3);
  outcome = precharge_outcome(circuit);
  CHECK(outcome.final.value == 0);
  CHECK(outcome.stalls);
  CHECK(precharge_transient(circuit, Second(5)).back().voltage_v == 0);
}

// Formula: maximum power through a resistance, P = V^2/(4R) (circuit theory; trade notes).
TEST_CASE("a constant-power load starts only below a quarter of V^2/R") {
  PrechargeCircuit circuit = plain();
  circuit.starts_at = Volt(20);
  circuit.stops_at = Volt(10);
  const double limit_w = 100.8 * 100.8 / (4 * 470.06);
  circuit.power = Watt(limit_w * 0.999);
  CHECK(loaded_balance(circuit));
  CHECK(loaded_balance(circuit)->value == doctest::Approx(50.4).epsilon(0.05));
  circuit.power = Watt(limit_w * 1.001);
  CHECK_FALSE(loaded_balance(circuit));
  const PrechargeOutcome outcome = precharge_outcome(circuit);
  CHECK(outcome.hunts);
  CHECK(outcome.stalls);
  CHECK_FALSE(outcome.to_fraction);
  CHECK(outcome.final.value == 10);
  // The swings stay between the thresholds.
  double low_v = 1e9, high_v = 0;
  for (const BusPoint& point : precharge_transient(circuit, Second(20), 2000)) {
    if (point.time_s < 2) continue;
    low_v = std::min(low_v, point.voltage_v);
    high_v = std::max(high_v, point.voltage_v);
  }
  CHECK(low_v == doctest::Approx(10).epsilon(1e-3));
  CHECK(high_v == doctest::Approx(20).epsilon(1e-3));
  // Started below the lower balance it hunts as well, though a balance exists higher up.
  circuit.power = Watt(limit_w * 0.95);
  CHECK(precharge_outcome(circuit).hunts);
  // Started above it, it settles at the balance.
  circuit.starts_at = Volt(60);
  circuit.stops_at = Volt(30);
  CHECK_FALSE(precharge_outcome(circuit).hunts);
  CHECK(precharge_outcome(circuit).final == *loaded_balance(circuit));
  // A load from no voltage on never lets the bus rise.
  circuit.starts_at = circuit.stops_at = Volt(0);
  CHECK(precharge_outcome(circuit).final.value == 0);
  CHECK(precharge_transient(circuit, Second(5)).back().voltage_v == 0);
}

TEST_CASE("the settled voltage is that of a long transient") {
  for (const double power_w : {0.0, 1.0, 3.0, 5.0, 8.0})
    for (const double starts_v : {15.0, 60.0, 95.0})
      for (const double leakage_a : {0.0, 0.02}) {
        PrechargeCircuit circuit = plain();
        circuit.power = Watt(power_w);
        circuit.starts_at = Volt(starts_v);
        circuit.stops_at = Volt(starts_v * 0.7);
        circuit.leakage = Ampere(leakage_a);
        const PrechargeOutcome outcome = precharge_outcome(circuit);
        CAPTURE(power_w);
        CAPTURE(starts_v);
        CAPTURE(leakage_a);
        const double end_v = precharge_transient(circuit, Second(60)).back().voltage_v;
        if (!outcome.hunts) CHECK(end_v == doctest::Approx(outcome.final.value).epsilon(1e-5));
        if (outcome.hunts) CHECK(end_v >= outcome.final.value - 1e-6);
        if (outcome.hunts) CHECK(end_v <= starts_v + 1e-6);
      }
}

TEST_CASE("time to the fraction agrees with the transient") {
  PrechargeCircuit circuit = plain();
  circuit.power = Watt(0.5);
  circuit.starts_at = Volt(40);
  circuit.stops_at = Volt(30);
  const PrechargeOutcome outcome = precharge_outcome(circuit);
  REQUIRE(outcome.to_fraction);
  CHECK(precharge_transient(circuit, *outcome.to_fraction).back().voltage_v ==
        doctest::Approx(0.95 * 100.8).epsilon(1e-6));
  CHECK(closing_surge(circuit, *outcome.to_fraction).residual.value == doctest::Approx(0.05 * 100.8).epsilon(1e-5));
}

TEST_CASE("precharge agrees with ngspice within 0.5 % of the source") {
  PrechargeCircuit circuit = plain();
  compare("capacitance alone", circuit, 5);
  circuit.load = Ohm(2000);
  compare("resistive load", circuit, 5);
  circuit.leakage = Ampere(0.05);
  compare("resistive load and leakage", circuit, 5);
  circuit = plain();
  circuit.initial = Volt(70);
  circuit.load = Ohm(300);
  compare("falling from a charged bus", circuit, 3);
  circuit = plain();
  circuit.power = Watt(3);
  circuit.starts_at = Volt(40);
  circuit.stops_at = Volt(25);
  compare("constant power that settles", circuit, 5);
  circuit.leakage = Ampere(0.01);
  circuit.load = Ohm(5000);
  compare("all loads", circuit, 6);
  circuit = plain();
  circuit.power = Watt(30);
  circuit.starts_at = Volt(40);
  circuit.stops_at = Volt(20);
  compare("constant power that hunts", circuit, 1.5);
  circuit.source = Volt(54.6);
  circuit.resistor = Ohm(47);
  circuit.capacitance = Farad(4.7e-3);
  circuit.power = Watt(60);
  circuit.starts_at = Volt(36);
  circuit.stops_at = Volt(30);
  compare("a converter on a 13-cell bus", circuit, 1.0);
}

// The balance with loads against ngspice's operating point.
TEST_CASE("the loaded balance agrees with an operating point of ngspice") {
  PrechargeCircuit circuit = plain();
  circuit.power = Watt(3);
  circuit.load = Ohm(4000);
  circuit.leakage = Ampere(0.01);
  const auto point = spice::operating_point(
      "v1 src 0 100.8\nr1 src bus 470.06\nr3 bus 0 4000\ni1 bus 0 0.01\nb2 bus 0 i=3/max(v(bus),1)\n.nodeset v(bus)=80",
      {"v(bus)"});
  CHECK(loaded_balance(circuit)->value == doctest::Approx(point.at("v(bus)")).epsilon(1e-4));
}

TEST_CASE("resistor energy agrees with a fine sum over the transient") {
  PrechargeCircuit circuit = plain();
  circuit.power = Watt(3);
  circuit.starts_at = Volt(40);
  circuit.stops_at = Volt(25);
  circuit.load = Ohm(5000);
  const auto points = precharge_transient(circuit, Second(4), 40000);
  double sum_j = 0;
  for (std::size_t i = 1; i < points.size(); ++i) {
    const double mean_v = (points[i].voltage_v + points[i - 1].voltage_v) / 2;
    sum_j += std::pow((100.8 - mean_v) / 470.06, 2) * 470 * (points[i].time_s - points[i - 1].time_s);
  }
  CHECK(resistor_energy(circuit, Second(4)).value == doctest::Approx(sum_j).epsilon(1e-4));
}

TEST_CASE("leakage that empties a charged bus heats the resistor as a fine sum says") {
  PrechargeCircuit circuit = plain();
  circuit.leakage = Ampere(0.5);
  circuit.initial = Volt(90);
  const auto points = precharge_transient(circuit, Second(4), 40000);
  CHECK(points.back().voltage_v == 0);
  double sum_j = 0;
  for (std::size_t i = 1; i < points.size(); ++i) {
    const double mean_v = (points[i].voltage_v + points[i - 1].voltage_v) / 2;
    sum_j += std::pow((100.8 - mean_v) / 470.06, 2) * 470 * (points[i].time_s - points[i - 1].time_s);
  }
  CHECK(resistor_energy(circuit, Second(4)).value == doctest::Approx(sum_j).epsilon(1e-4));
}

TEST_CASE("a resistor that reaches the fraction and then hunts is not proposed") {
  PrechargeCircuit circuit = plain();
  circuit.power = Watt(60);
  circuit.starts_at = Volt(97);
  circuit.stops_at = Volt(80);
  circuit.resistor = Ohm(270);
  CHECK(precharge_outcome(circuit).to_fraction);
  CHECK(precharge_outcome(circuit).hunts);
  const auto found = propose_resistor(circuit, Second(2), Second(4));
  REQUIRE(found);
  CHECK(found->ohms.value < 270);
  circuit.resistor = found->ohms;
  CHECK_FALSE(precharge_outcome(circuit).hunts);
}

TEST_CASE("a proposed resistor does what was asked, the next larger does not") {
  PrechargeCircuit circuit = plain();
  const auto found = propose_resistor(circuit, Second(2), Second(4));
  REQUIRE(found);
  // By hand: 2 s / (2.2 mF ln 20) = 303 ohm, so 270 ohm of E12.
  CHECK(found->ohms.value == doctest::Approx(270));
  CHECK(found->reaches.value == doctest::Approx(270.06 * 2.2e-3 * std::log(20)));
  // A short for 4 s: (100.8/270.06)^2 * 270 * 4 = 150.5 J, at 25 J per watt 6.02 W, so 10 W.
  CHECK(found->pulse.value == doctest::Approx(150.46).epsilon(1e-3));
  CHECK(found->watts.value == 10);
  // Without timeout a short is for ever: 37.6 W, so 50 W.
  CHECK(propose_resistor(circuit, Second(2), std::nullopt)->watts.value == 50);
  // A resistive load asks for less: 95 % at all needs R < R_L / 19.
  circuit.load = Ohm(2000);
  const auto loaded = propose_resistor(circuit, Second(10), Second(4));
  REQUIRE(loaded);
  CHECK(loaded->ohms.value == doctest::Approx(100));
  // A load that takes the bus down through any resistor.
  circuit.load = Ohm(0.5);
  CHECK_FALSE(propose_resistor(circuit, Second(10), Second(4)));
}
