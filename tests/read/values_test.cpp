// What a written attribute becomes on the part, form by form, and where its place points.
#include <doctest/doctest.h>
#include <fmt/core.h>

#include <string>

#include "read/colour.h"
#include "read/nearest.h"
#include "read/read.h"

namespace {

using namespace loomproof;

Loom read_part(const std::string& part, const std::string& more = "") {
  const ReadResult result = read_loom(
      fmt::format("loom: 1\nparts:\n  x: {}\n  f: {{is: frame}}\nwires: {{W: {{from: f.a, to: f.b}}}}\n{}", part, more),
      "values.yaml");
  std::string faults;
  for (const ReadFault& f : result.faults) faults += fmt::format("\n  {}:{}: {}", f.at.line, f.at.column, f.what);
  REQUIRE_MESSAGE(result.loom, faults);
  return *result.loom;
}

}  // namespace

TEST_CASE("each form sets its plain names in base units") {
  const Loom loom = read_part(
      "{is: pack, chemistry: lfp, series: 16, cell_full: 3.6 V, peak: 300 A for 10 s, charge: 90 A, "
      "sense_fuse: {rated: 3 A, breaks: 2.5 kA at 80 V}}");
  const Part& x = loom.parts[0];
  CHECK(x.number("series") == 16);
  CHECK(x.number("peak") == 300);
  CHECK(x.number("peak.for") == 10);
  CHECK(x.number("sense_fuse.breaks") == 2500);
  CHECK(x.number("sense_fuse.breaks.at") == 80);
  CHECK(x.text("chemistry") == "lfp");
  CHECK(x.find("peak")->at == Place{3, 69});
  CHECK_FALSE(x.number("continuous"));
}

TEST_CASE("a choice brings its attributes under what the user wrote and above what is assumed") {
  const Loom loom = read_part("{is: pack, chemistry: lfp, series: 16, cell_full: 3.6 V}");
  const Part& x = loom.parts[0];
  CHECK(x.number("cell_full") == doctest::Approx(3.6));
  CHECK(x.number("cell_nominal") == doctest::Approx(3.2));  // tests/reference/lithium_cells.csv
  CHECK(x.number("cell_empty") == doctest::Approx(2.5));
  CHECK_FALSE(x.find("cell_empty")->assumed);
  CHECK(x.find("cell_empty")->at == x.find("chemistry")->at);
  CHECK(x.number("parallel") == 1);
  CHECK(x.find("parallel")->assumed);
  CHECK_FALSE(x.find("parallel")->at);
}

TEST_CASE("pair, range, flag, names, curve") {
  const Part relay = read_part("{is: relay, coil: 12 V 100 mA}").parts[0];
  CHECK(relay.number("coil.volts") == 12);
  CHECK(relay.number("coil.amps") == doctest::Approx(0.1));
  const Part dcdc = read_part("{is: dcdc, in: 36 V to 75 V, isolated: false}").parts[0];
  CHECK(dcdc.number("in.low") == 36);
  CHECK(dcdc.number("in.high") == 75);
  CHECK(dcdc.flag("isolated") == false);
  const Part key = read_part("{is: switch, positions: [off, on, start], closed_in: [on, start]}").parts[0];
  CHECK(key.positions == std::vector<std::string>{"off", "on", "start"});
  const Part breaker =
      read_part("{is: breaker, rated: 30 A, points: [[135 %, 0.75 s, 10 min], [2, 0.1 s, 5 s]]}").parts[0];
  CHECK(breaker.positions == std::vector<std::string>{"closed", "open"});
  const auto& rows = std::get<std::vector<CurveRow>>(breaker.find("points")->value);
  REQUIRE(rows.size() == 2);
  CHECK(rows[0].multiple == doctest::Approx(1.35));
  CHECK(rows[0].slowest_s == 600);
  CHECK(rows[1].multiple == 2);
}

TEST_CASE("terminals on mention exist only where a wire names them; bare splices and frames have an empty name") {
  const ReadResult result = read_loom(
      "loom: 1\n"
      "parts:\n"
      "  plug: {is: connector, pins: 12}\n"
      "  joint: {is: splice}\n"
      "  pick: {is: selector, positions: [off, low]}\n"
      "wires:\n"
      "  A: {from: plug.p11, to: joint}\n"
      "  B: {from: joint.x, to: pick.low}\n",
      "t.yaml");
  REQUIRE(result.loom);
  const Loom& loom = *result.loom;
  REQUIRE(loom.parts[0].terminals.size() == 1);
  CHECK(loom.title(loom.wires[0].from) == "plug.p11");
  CHECK(loom.title(loom.wires[0].to) == "joint");
  CHECK(loom.title(loom.wires[1].from) == "joint.x");
  CHECK(loom.find_terminal("pick.off"));
  CHECK(loom.find_terminal("joint") == loom.wires[0].to);
  CHECK_FALSE(loom.find_terminal("plug.p1"));
}

TEST_CASE("odd names survive when they stand in quotes") {
  const ReadResult result = read_loom(
      "loom: 1\n"
      "parts:\n"
      "  \"lamp <rear> & \\\"left\\\"\": {is: lamp}\n"
      "  '-x': {is: frame}\n"
      "wires:\n"
      "  'W 1': {from: 'lamp <rear> & \"left\".a', to: '-x.stud 1', in: \"b & c\"}\n"
      "bundles:\n"
      "  b & c: {}\n",
      "odd.yaml");
  CHECK_FALSE(result.loom);  // the bundle's name needs quotes
  REQUIRE(result.faults.size() >= 1);
  CHECK(result.faults.back().at == Place{8, 3});
  std::string text =
      "loom: 1\n"
      "parts:\n"
      "  \"lamp <rear> & \\\"left\\\"\": {is: lamp}\n"
      "  '-x': {is: frame}\n"
      "wires:\n"
      "  'W 1': {from: 'lamp <rear> & \"left\".a', to: '-x.stud 1', in: \"b & c\"}\n"
      "bundles:\n"
      "  'b & c': {}\n";
  const ReadResult good = read_loom(text, "odd.yaml");
  REQUIRE(good.loom);
  CHECK(good.loom->title(good.loom->wires[0].from) == "lamp <rear> & \"left\".a");
  CHECK(good.loom->wires[0].bundles.size() == 1);
}

TEST_CASE("duty, rides, requirements and waivers") {
  const Loom loom = read_part("{is: motor-controller}\n  key: {is: switch, positions: [off, on]}",
                              "duty:\n"
                              "  trip: [up, down, up]\n"
                              "  up: {x.battery: 120 A, x.phase: 280 A, for: 45 s, with: {key: on}}\n"
                              "  down: {x.battery: -20 A, for: 1 min}\n"
                              "must:\n"
                              "  still: {when: {key: off}, never: x.torque}\n"
                              "  dead: {when: {key: off}, never: {live: x.bat_pos}}\n"
                              "  wakes: {when: {key: on}, always: x.awake}\n"
                              "waive:\n"
                              "  - {rule: wire-drop, subject: W, reason: measured}\n");
  REQUIRE(loom.duty.size() == 2);
  CHECK(loom.duty[0].currents[1].amps == Ampere(280));
  CHECK(loom.duty[0].with == std::vector<std::pair<PartIndex, int>>{{PartIndex{1}, 1}});
  CHECK(loom.duty[1].lasts == Second(60));
  REQUIRE(loom.rides.size() == 1);
  CHECK(loom.rides[0].points == std::vector<DutyIndex>{DutyIndex{0}, DutyIndex{1}, DutyIndex{0}});
  REQUIRE(loom.musts.size() == 3);
  CHECK(loom.musts[0].output->second == "torque");
  CHECK(loom.title(*loom.musts[1].live) == "x.bat_pos");
  CHECK(loom.musts[1].never);
  CHECK_FALSE(loom.musts[2].never);
  CHECK(loom.waivers[0].reason == "measured");
}

TEST_CASE("a kind of the user's own works like one of the catalogue") {
  const Loom loom = read_part(
      "{is: heater, watts: 60 W, volts: 12 V}",
      "kinds:\n"
      "  heater:\n"
      "    terminals: [pos, neg]\n"
      "    attributes: {watts: {is: power}, volts: {is: voltage}}\n"
      "    inside:\n"
      "      - {load: body, pos: pos, neg: neg, form: resistive, amount: volts * volts / watts, rated: volts}\n");
  REQUIRE(loom.elements.loads.size() == 1);
  CHECK(*loom.elements.loads[0].amount == doctest::Approx(2.4));  // 12 V squared over 60 W
  CHECK(loom.kinds.at("heater").own);
}

TEST_CASE("colour codes of IEC 60757") {
  // The fourteen codes stand in tests/reference/iec60757_colours.csv.
  for (const char* code :
       {"BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "GD", "TQ", "SR", "GNYE", "RDBU"}) {
    CHECK(is_colour_code(code));
  }
  for (const char* code : {"", "B", "RDR", "rd", "red", "XX", "RDXX", "RDRD", "RDBUGN"})
    CHECK_FALSE(is_colour_code(code));
  CHECK(colour_code_for("red") == "RD");
  CHECK(colour_code_for("Green and Yellow") == "GNYE");
  CHECK(colour_code_for("rd/bu") == "RDBU");
  CHECK(colour_code_for("light blue") == "BU");
  CHECK(colour_code_for("purple") == "VT");
  CHECK(colour_code_for("mauve").empty());
}

TEST_CASE("nearest name") {
  CHECK(find_nearest("lenght", {"from", "to", "length"}) == "length");
  CHECK(find_nearest("Brake-Input", {"brake_input"}) == "brake_input");
  CHECK_FALSE(find_nearest("zeppelin", {"fuse", "relay"}));
  CHECK_FALSE(find_nearest("a", {"b"}));
  CHECK_FALSE(find_nearest("", {"b"}));
}
