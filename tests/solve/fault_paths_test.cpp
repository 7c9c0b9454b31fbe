// A fault that several sources feed: what each fuse sees of it against hand formulas, ngspice and a plain removal.
#include "solve/fault_paths.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include <fmt/format.h>

#include "read/read.h"
#include "solve/prospective.h"
#include "solve/source_network.h"
#include "spice.h"

using namespace loomproof;

namespace {

// Strings of one cell each behind their own fuse, joined at a knob; `beside` is what else feeds the join.
std::string strings_of(const std::vector<std::string>& cell_ohm, const std::string& beside_parts = "",
                       const std::string& beside_wires = "") {
  std::string parts, wires;
  for (std::size_t i = 0; i < cell_ohm.size(); ++i) {
    parts += fmt::format(
        "  p{0}: {{is: pack, chemistry: nmc, series: 13, cell_resistance: {1}}}\n"
        "  f{0}: {{is: fuse, rated: 32 A, volts: 80 V, breaks: 10 kA, curve: cartridge}}\n",
        i, cell_ohm[i]);
    wires += fmt::format(
        "  A{0}: {{from: p{0}.pos, to: f{0}.a, size: 35 mm2, length: 1 mm}}\n"
        "  B{0}: {{from: f{0}.b, to: join, size: 35 mm2, length: 1 mm}}\n"
        "  C{0}: {{from: p{0}.neg, to: back, size: 35 mm2, length: 1 mm}}\n",
        i);
  }
  return "loom: 1\nvehicle: {name: FaultBench}\nparts:\n" + parts + beside_parts +
         "  join: {is: splice}\n  back: {is: splice}\n"
         "  heater: {is: load, watts: 500 W, volts: 52 V}\nwires:\n" +
         wires + beside_wires +
         "  W: {from: join, to: heater.pos, size: 10 mm2, length: 1 m}\n"
         "  R: {from: heater.neg, to: back, size: 10 mm2, length: 1 m}\n";
}

struct FaultBench {
  ReadResult read;
  Circuit circuit;
  FaultPaths paths;

  explicit FaultBench(const std::string& text) : read(read_loom(text, "bench")) {
    std::string faults;
    for (const auto& fault : read.faults) faults += fault.what + "; ";
    REQUIRE_MESSAGE(read.loom.has_value(), faults);
    circuit = build_circuit(*read.loom);
    paths = fault_paths(circuit, graph_of(circuit));
  }
  FaultBench(const FaultBench&) = delete;

  std::size_t wire(const std::string& name) const {
    for (std::size_t w = 0; w < read.loom->wires.size(); ++w)
      if (read.loom->wires[w].name == name) return w;
    throw std::runtime_error("no wire " + name);
  }
  FuseSight sight(const std::string& wire_name, const std::string& fuse) const {
    for (const FuseSight& s : paths.sights[wire(wire_name)])
      if (read.loom->part(read.loom->elements.fuses[s.fuse].part).name == fuse) return s;
    return {};
  }
};

}  // namespace

// Source: reference/worked_examples.md 8 (Lessons In Electric Circuits, DC chapter 6): 1, 3 and 2 kohm share a current
// 0.54545 : 0.18182 : 0.27273.
TEST_CASE("worked example 8 on fuses: three strings share a fault as a current divider does") {
  const FaultBench bench(strings_of({"1 ohm", "3 ohm", "2 ohm"}));
  CHECK(bench.sight("W", "f0").share == doctest::Approx(0.54545).epsilon(1e-3));
  CHECK(bench.sight("W", "f1").share == doctest::Approx(0.18182).epsilon(1e-3));
  CHECK(bench.sight("W", "f2").share == doctest::Approx(0.27273).epsilon(1e-3));
  CHECK(bench.sight("W", "f0").relief_a == 0);
}

// Source: reference/worked_examples.md 10: cells in parallel, each carries its part; Ohm's law.
TEST_CASE("parallel strings add their short-circuit currents, a fault in one is fed by the others") {
  const FaultBench one(strings_of({"40 mohm"}));
  const FaultBench four(strings_of({"40 mohm", "40 mohm", "40 mohm", "40 mohm"}));
  // 54.6 V over 13 x 40 mohm and 1 m of 10 mm2 (1.83 mohm, metric_resistance.csv).
  const double leads = 1.83e-3;
  CHECK(one.paths.wires[one.wire("W")].largest_a == doctest::Approx(54.6 / (0.52 + leads)).epsilon(2e-3));
  CHECK(four.paths.wires[four.wire("W")].largest_a == doctest::Approx(54.6 / (0.13 + leads)).epsilon(2e-3));
  // B0, shorted at its fuse: the other three come through it, and each of their fuses sees a third.
  CHECK(four.paths.wires[four.wire("B0")].largest_a == doctest::Approx(3 * 54.6 / 0.52).epsilon(5e-3));
  CHECK(four.sight("B0", "f1").share == doctest::Approx(1.0 / 3).epsilon(1e-3));
  // Empty pack, hot wires, far return: 39 V; both leads at the limit of their insulation.
  const double smallest = one.paths.wires[one.wire("W")].smallest_a;
  CHECK(smallest < 39 / (0.52 + 2 * leads));
  CHECK(smallest > 39 / (0.52 + 2 * leads * 1.6));
}

TEST_CASE("a resistive fault in ngspice: every fuse sees share * (I - relief)") {
  // Two unlike strings and a charger of 7 A at the join.
  const FaultBench bench(strings_of({"40 mohm", "70 mohm"}, "  charger: {is: charger, out: 54.6 V, limit: 7 A}\n",
                                    "  X: {from: charger.pos, to: join, size: 35 mm2, length: 1 mm}\n"
                                    "  Y: {from: charger.neg, to: back, size: 35 mm2, length: 1 mm}\n"));
  for (const double fault_ohm : {0.3, 1.0, 3.0}) {
    const auto found = spice::operating_point(
        fmt::format("V0 m0 0 54.6\nR0 m0 a0 0.52\nVf0 a0 join 0\nV1 m1 0 54.6\nR1 m1 a1 0.91\nVf1 a1 join 0\n"
                    "Ic 0 join 7\nVw join w 0\nRw w 0 {}\n",
                    fault_ohm),
        {"i(vf0)", "i(vf1)", "i(vw)"});
    const double wire_a = found.at("i(vw)");
    for (const auto& [fuse, through] : {std::pair("f0", "i(vf0)"), std::pair("f1", "i(vf1)")}) {
      const FuseSight seen = bench.sight("W", fuse);
      CAPTURE(fuse);
      CHECK(seen.relief_a == doctest::Approx(7).epsilon(5e-3));
      CHECK(seen.share * (wire_a - seen.relief_a) == doctest::Approx(found.at(through)).epsilon(5e-3));
    }
  }
}

TEST_CASE("impedances by the elimination tree are those of the whole solution") {
  const std::string text = strings_of({"40 mohm", "70 mohm", "20 mohm"});
  const FaultBench bench(text);
  const SourceNetwork walked(bench.circuit, {}), solved(bench.circuit, {});
  for (int a = 0; a < bench.circuit.nodes; ++a) {
    for (int b = 0; b < bench.circuit.nodes; ++b) {
      if (!walked.tied(a, b)) continue;
      CHECK(walked.between(a, b) == doctest::Approx(solved.column(a)[b]).epsilon(1e-9));
    }
  }
}

TEST_CASE("a fuse in a branch of its own sees the whole current") {
  const FaultBench bench(strings_of({"40 mohm"}));
  CHECK(bench.paths.sights[bench.wire("W")].empty());
}

// Source of the cell's 4.2 V: tests/reference/lithium_cells.csv. The rest is Kirchhoff's voltage law: an open fuse
// stands the whole voltage of the loop that it broke.
TEST_CASE("what a fuse must break is the full charge of every cell in the loop, not the nominal voltage") {
  const FaultBench one(strings_of({"1 mohm"}));
  const auto alone = fuse_faults(one.circuit, one.paths);
  REQUIRE(alone.size() == 1);
  CHECK(alone[0].voltage_v == doctest::Approx(13 * 4.2).epsilon(1e-6));

  // Strings side by side: what the other one drives backward comes from the same voltage, not from twice of it.
  const FaultBench beside(strings_of({"1 mohm", "2 mohm"}));
  for (const FuseFault& fault : fuse_faults(beside.circuit, beside.paths))
    CHECK(fault.voltage_v == doctest::Approx(13 * 4.2).epsilon(1e-6));
}

TEST_CASE("a fuse between two packs in series must break both of them") {
  const FaultBench bench(
      "loom: 1\nvehicle: {name: Series}\nparts:\n"
      "  low: {is: pack, chemistry: nmc, series: 13, cell_resistance: 1 mohm}\n"
      "  high: {is: pack, chemistry: nmc, series: 7, cell_resistance: 1 mohm}\n"
      "  middle: {is: fuse, rated: 32 A, volts: 125 V, breaks: 10 kA, curve: cartridge}\n"
      "  heater: {is: load, watts: 500 W, volts: 80 V}\nwires:\n"
      "  A: {from: low.pos, to: middle.a, size: 35 mm2, length: 1 m}\n"
      "  B: {from: middle.b, to: high.neg, size: 35 mm2, length: 1 m}\n"
      "  C: {from: high.pos, to: heater.pos, size: 35 mm2, length: 1 m}\n"
      "  D: {from: heater.neg, to: low.neg, size: 35 mm2, length: 1 m}\n");
  const auto faults = fuse_faults(bench.circuit, bench.paths);
  REQUIRE(faults.size() == 1);
  CHECK(faults[0].voltage_v == doctest::Approx(20 * 4.2).epsilon(1e-6));
}
