// A bench to lay small looms on: parts and wires as YAML lines, read by the tool's own reader, then settled and
// metered.
#pragma once

#include <doctest/doctest.h>
#include <fmt/core.h>

#include <map>
#include <memory>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include "read/read.h"
#include "solve/circuit.h"
#include "solve/network.h"

namespace loomproof::bench {

/// Wire that hardly counts: 120 mm2 and 1 mm make less than the network's least resistance of 1 uohm.
inline const std::string thick = "size: 120 mm2, length: 1 mm";

/// A joint wire counts 1 uohm, so figures of ohms agree with the ideal circuit to a few parts in a million.
inline doctest::Approx near(double value) {
  return doctest::Approx(value).epsilon(1e-5);
}

/// A battery's attributes, the same voltage at every charge.
inline std::string battery(double volts, const std::string& resistance) {
  return fmt::format("battery, full: {0} V, nominal: {0} V, empty: {0} V, resistance: {1}", volts, resistance);
}

/// One that has half its voltage left when empty.
inline std::string halving_battery(double volts, const std::string& resistance) {
  return fmt::format("battery, full: {0} V, nominal: {0} V, empty: {1} V, resistance: {2}", volts, volts / 2,
                     resistance);
}

inline Loom loom_from(const std::string& text) {
  ReadResult result = read_loom(text, "bench.yaml");
  std::string faults;
  for (const ReadFault& f : result.faults)
    faults += fmt::format("\n  {}:{}: {} ({})", f.at.line, f.at.column, f.what, f.hint);
  if (!result.loom) throw std::runtime_error("bench: the loom does not read" + faults + "\n" + text);
  return std::move(*result.loom);
}

/// Parts and wires in the order in which they are laid down.
struct Drawing {
  std::vector<std::string> parts, wires;
  std::string rest;  // whole sections: duty, kinds, ...

  Drawing& part(const std::string& name, const std::string& attributes) {
    parts.push_back(fmt::format("  {}: {{is: {}}}\n", name, attributes));
    return *this;
  }
  Drawing& wire(const std::string& name, const std::string& from, const std::string& to,
                const std::string& build = thick) {
    wires.push_back(fmt::format("  {}: {{from: {}, to: {}, {}}}\n", name, from, to, build));
    return *this;
  }
  /// Wires named w<n>, that hardly count.
  Drawing& join(const std::string& from, const std::string& to) {
    return wire(fmt::format("w{}", wires.size()), from, to);
  }
  std::string text() const {
    std::string out = "loom: 1\nconditions: {ambient: 20 degC}\nparts:\n";
    for (const std::string& line : parts) out += line;
    out += "wires:\n";
    for (const std::string& line : wires) out += line;
    return out + rest;
  }
};

/// A relay that holds itself in once `start` is down, until `stop` is pressed.
inline Drawing seal_in(const std::string& battery_attributes) {
  return Drawing()
      .part("b", battery_attributes)
      .part("start", "switch, positions: [up, down]")
      .part("stop", "switch, positions: [run, pressed], closed_in: [run]")
      .part("rel", "relay, coil: 12 V 0.1 A")
      .part("load", "resistor, ohms: 10 ohm")
      .join("b.pos", "stop.a")
      .join("stop.b", "start.a")
      .join("start.b", "rel.coil_a")
      .join("rel.coil_b", "b.neg")
      .join("stop.b", "rel.a")
      .join("rel.b", "rel.coil_a")
      .join("rel.b", "load.a")
      .join("load.b", "b.neg");
}

/// A loom with its circuit and network. It does not move: the circuit points at the loom.
struct Setup {
  Loom loom;
  Circuit circuit;
  Network network;

  explicit Setup(const std::string& text) : loom(loom_from(text)), circuit(build_circuit(loom)), network(circuit) {}
  explicit Setup(const Drawing& drawing) : Setup(drawing.text()) {}
  Setup(const Setup&) = delete;
  Setup& operator=(const Setup&) = delete;

  TerminalIndex terminal(const std::string& name) const {
    const auto found = loom.find_terminal(name);
    if (!found) throw std::runtime_error("bench: no terminal " + name);
    return *found;
  }
  std::size_t part(const std::string& name) const {
    const auto found = loom.find_part(name);
    if (!found) throw std::runtime_error("bench: no part " + name);
    return found->value;
  }
  /// Index of a primitive of a part in one of the tables of Elements.
  template <class T>
  std::size_t index(const std::vector<T>& table, const std::string& part_name, const std::string& name) const {
    for (std::size_t i = 0; i < table.size(); ++i) {
      if (table[i].part.value == part(part_name) && table[i].name == name) return i;
    }
    throw std::runtime_error("bench: no primitive " + part_name + "." + name);
  }
  WireIndex wire(const std::string& name) const {
    for (std::size_t i = 0; i < loom.wires.size(); ++i) {
      if (loom.wires[i].name == name) return WireIndex{i};
    }
    throw std::runtime_error("bench: no wire " + name);
  }
  DutyIndex duty(const std::string& name) const {
    for (std::size_t i = 0; i < loom.duty.size(); ++i) {
      if (loom.duty[i].name == name) return DutyIndex{i};
    }
    throw std::runtime_error("bench: no duty point " + name);
  }

  /// A situation by names: {{"key", "on"}}; what is not named rests in its first position.
  Situation situation(const std::map<std::string, std::string>& moved = {}, Charge charge = Charge::full,
                      const std::string& duty_name = {}) const {
    Situation s;
    s.positions.assign(loom.parts.size(), 0);
    for (const auto& [name, position] : moved) {
      const std::vector<std::string>& known = loom.parts[part(name)].positions;
      const auto at = std::find(known.begin(), known.end(), position);
      if (at == known.end()) throw std::runtime_error("bench: " + name + " has no position " + position);
      s.positions[part(name)] = static_cast<std::int8_t>(at - known.begin());
    }
    s.charge = charge;
    if (!duty_name.empty()) s.duty = duty(duty_name);
    return s;
  }
  OperatingPoint settle(const std::map<std::string, std::string>& moved = {}, Charge charge = Charge::full,
                        const std::string& duty_name = {}) {
    return network.settle(situation(moved, charge, duty_name));
  }

  /// Fails the test when no conductor ties the two.
  double volts(const OperatingPoint& point, const std::string& a, const std::string& b) const {
    const auto v = voltage(circuit, point, terminal(a), terminal(b));
    REQUIRE_MESSAGE(v, "no voltage between " << a << " and " << b);
    return v->value;
  }
  bool tied(const OperatingPoint& point, const std::string& a, const std::string& b) const {
    return voltage(circuit, point, terminal(a), terminal(b)).has_value();
  }
  double amps(const OperatingPoint& point, const std::string& wire_name) const {
    return wire_current(circuit, point, wire(wire_name)).value;
  }
};

}  // namespace loomproof::bench
