// The first power-up: every voltage of every step against ngspice, and the precharge curve against its transient.
#include "show/paper_bench.h"

#include <cmath>

#include "show/paper.h"
#include "show/paper_demos.h"
#include "show/paper_sheet.h"
#include "solve/spice_deck.h"
#include "spice.h"

using namespace loomproof;
using papers_test::demos;

namespace {

std::string vector_of(const Circuit& circuit, TerminalIndex t) {
  return "v(" + laws::node_name(circuit.node(t)) + ")";
}

}  // namespace

TEST_CASE("ngspice: every voltage reading of every step of every demo") {
  for (const auto& demo : demos()) {
    CAPTURE(demo->name);
    double worst_v = 0;
    std::size_t steps = 0, readings = 0;
    const std::vector<BenchStage> stages = bench_stages(demo->solved);
    REQUIRE(stages.size() == 5);
    for (const BenchStage& stage : stages) {
      CAPTURE(stage.title);
      CHECK(stage.lacking.empty());
      CHECK_FALSE(stage.steps.empty());
      CHECK_FALSE(stage.stop.empty());
      for (const BenchStep& step : stage.steps) {
        CAPTURE(step.todo);
        REQUIRE(step.point.trouble == "");
        std::vector<std::string> vectors;
        for (const BenchReading& r : step.readings) {
          for (TerminalIndex t : {r.red, r.black}) {
            const std::string v = vector_of(stage.circuit, t);
            if (std::find(vectors.begin(), vectors.end(), v) == vectors.end()) vectors.push_back(v);
          }
        }
        if (vectors.empty()) continue;
        ++steps;
        const auto found = spice::operating_point(laws::deck_of(stage.circuit, step.point), vectors);
        for (const BenchReading& r : step.readings) {
          if (!r.expected) {
            CHECK(step.point.piece[stage.circuit.node(r.red)] != step.point.piece[stage.circuit.node(r.black)]);
            continue;
          }
          ++readings;
          const double theirs = found.at(vector_of(stage.circuit, r.red)) - found.at(vector_of(stage.circuit, r.black));
          CAPTURE(stage.loom->title(r.red));
          CAPTURE(stage.loom->title(r.black));
          // A fiftieth of the tolerance that the sheet prints.
          CHECK(std::fabs(theirs - r.expected->value) < 0.02 * reading_tolerance(*r.expected).value);
          worst_v = std::max(worst_v, std::fabs(theirs - r.expected->value));
        }
      }
    }
    CHECK(readings > 30);
    MESSAGE(demo->name << ": " << steps << " steps, " << readings << " readings, worst difference " << worst_v << " V");
  }
}

TEST_CASE("ngspice: the bus voltage during precharge, one, three and five time constants after its start") {
  for (const auto& demo : demos()) {
    CAPTURE(demo->name);
    const std::vector<BenchStage> stages = bench_stages(demo->solved);
    const BenchStage& stage = stages[2];
    REQUIRE(stage.curve);
    const PrechargeCircuit& c = stage.curve->circuit;
    REQUIRE(c.power.value == 0);  // a constant power would need a law of its own in the deck
    std::string deck = fmt::format("V1 s 0 {:.12g}\nR1 s bus {:.12g}\nC1 bus 0 {:.12g} ic=0\n", c.source.value,
                                   c.resistor.value + c.source_resistance.value, c.capacitance.value);
    if (c.load) deck += fmt::format("R2 bus 0 {:.12g}\n", c.load->value);
    // Drawn while there is voltage: full from 1 mV upwards.
    deck += fmt::format("B1 bus 0 I={:.12g}*min(1,max(0,v(bus)*1000))\n", c.leakage.value);
    const double until_s = stage.curve->points.back().time_s;
    const spice::Transient found = spice::transient(deck, until_s / 2000, until_s * 1.01, {"v(bus)"});
    for (const BusPoint& point : stage.curve->points) {
      CHECK(found.at(point.time_s) == doctest::Approx(point.voltage_v).epsilon(1e-3));
    }
  }
}

namespace {

// Expected texts of the sheet's rows whose red and black lead, or whose number, are these; in the section that begins
// so.
std::vector<std::string> expected_of(const Paper& sheet, const std::string& section, const std::string& red,
                                     const std::string& black, const std::string& step) {
  std::vector<std::string> out;
  for (const PaperSection& s : sheet.sections) {
    if (!s.heading.starts_with(section)) continue;
    std::string now;
    for (const auto& row : s.rows) {
      if (row[2].empty() && row[3].empty() && row[4].empty()) now = row[1];
      if (row[2] == red && row[3] == black && now.find(step) != std::string::npos) out.push_back(row[4]);
    }
  }
  return out;
}

}  // namespace

TEST_CASE("the readings worked by hand in docs/expected-readings.md stand on the sheet of the orchard cart") {
  for (const auto& demo : demos()) {
    if (demo->name != "orchard-cart") continue;
    const Paper sheet = test_sheet(demo->solved);
    using Texts = std::vector<std::string>;
    CHECK(expected_of(sheet, "A.", "pack_fuse.b", "plug.a", "") == Texts{"0.211 mohm (2.11 mV at 10 A)"});
    CHECK(isolation_limit(Volt(58.4)).value == doctest::Approx(5840));
    CHECK(expected_of(sheet, "1.", "plug.b", "pack.neg", "Supply on") == Texts{"30.0 V"});
    CHECK(expected_of(sheet, "2.", "brake_lamp.a", "brake_lamp.b", "'hand_brake' to pressed") == Texts{"13.0 V"});
    CHECK(expected_of(sheet, "3.", "drive.bat_pos", "drive.bat_neg", "'key' to on") ==
          Texts{"48.8 V", "30.9 V", "46.4 V", "48.5 V"});
    CHECK(expected_of(sheet, "4.", "drive.throttle_signal", "drive.throttle_return", "'key' to on") == Texts{"0.80 V"});
    CHECK(expected_of(sheet, "4.", "drive.throttle_signal", "drive.throttle_return", "'throttle' to full") ==
          Texts{"4.17 V"});
    CHECK(expected_of(sheet, "5.", "main.coil_a", "main.coil_b", "'kill' to stop") == Texts{"0 V"});
    const std::vector<BenchStage> stages = bench_stages(demo->solved);
    for (const BenchStep& step : stages[1].steps) {
      if (step.todo.starts_with("'hand_brake'")) CHECK(step.supply->value == doctest::Approx(2.25).epsilon(0.002));
    }
    CHECK(stages[2].curve->points.back().voltage_v == doctest::Approx(48.52).epsilon(0.001));
    CHECK(stages[3].steps[0].supply->value == doctest::Approx(0.520).epsilon(0.002));
  }
}

TEST_CASE("a fault on the bench cannot hide: no precharge, no torque, no pack are said, never left out") {
  const std::string cart = papers_test::text_of(SOURCE_ROOT + "/netlists/broken/no-precharge.yaml");
  const auto demo = papers_test::solved_from("no-precharge.yaml", cart);
  const std::vector<BenchStage> stages = bench_stages(demo->solved);
  REQUIRE(stages.size() == 5);
  CHECK(stages[2].steps.empty());
  REQUIRE_FALSE(stages[2].lacking.empty());
  CHECK(stages[2].lacking[0].find("precharge") != std::string::npos);
  const std::string csv = paper_csv(test_sheet(demo->solved)),
                    page = paper_html(test_sheet(demo->solved), *demo->solved.loom);
  CHECK(page.find("NOT COMPUTED") != std::string::npos);
  CHECK(csv.find("4. Main contactor closed") != std::string::npos);
}
