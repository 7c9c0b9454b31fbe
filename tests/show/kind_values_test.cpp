// What stands in the kinds and is taken where a part is silent is told, everywhere that an answer is read.
#include "show/kind_values.h"

#include <doctest/doctest.h>

#include "read/read.h"
#include "show/report.h"
#include "show/show.h"
#include "solve/solved.h"
#include "texts.h"

using namespace loomproof;

namespace {

const std::string bench = R"(loom: 1
kinds:
  heater:
    about: one heater
    terminals: [a, b]
    attributes:
      draws: {is: power, assume: 40 W, source: measured}
      works: {is: voltage to voltage, assume: 10 V to 15 V}
      feed: {is: voltage and current, assume: 12 V 3 A}
      shade: {is: [red, blue], assume: red}
    inside: [{load: main, form: power, pos: a, neg: b, amount: draws}]
parts:
  pack: {is: pack, chemistry: lfp, series: 16, parallel: 1, cell_resistance: 1 mohm}
  one: {is: heater}
  two: {is: heater, draws: 20 W, works: 9 V to 16 V, feed: 12 V 2 A}
  key: {is: switch, positions: [off, on], resistance: 5 mohm}
wires:
  A: {from: pack.pos, to: key.a, size: 2.5 mm2, length: 1 m, insulation: pvc-105}
  B: {from: key.b, to: one.a, size: 2.5 mm2, length: 1 m, insulation: pvc-105}
  C: {from: one.b, to: pack.neg, size: 2.5 mm2, length: 1 m, insulation: pvc-105}
)";

std::string rows_of(const Loom& loom) {
  std::string rows;
  for (const KindValue& v : kind_values(loom)) {
    rows += v.kind + " " + v.attribute + " = " + v.value + " (" + v.source + "):";
    for (const std::string& part : v.parts) rows += " " + part;
    rows += "\n";
  }
  return rows;
}

std::string page_of(const Loom& loom) {
  const Solved solved = solve(loom);
  return report_of(solved, judge(solved), "<svg></svg>", "");
}

}  // namespace

TEST_CASE("each value of a kind that some part leaves out is listed once, with its source and who takes it") {
  const ReadResult read = read_loom(bench, "bench.yaml");
  REQUIRE_MESSAGE(read.loom, (read.faults.empty() ? "" : read.faults.front().what));
  CHECK(rows_of(*read.loom) ==
        "heater draws = 40 W (measured): one\n"
        "heater works = 10 V to 15 V (): one\n"
        "heater feed = 12 V 3 A (): one\n"
        "heater shade = red (): one two\n");
}

TEST_CASE("the report lists them, text counts them, and a file that gives all of them says so") {
  const ReadResult read = read_loom(bench, "bench.yaml");
  REQUIRE(read.loom);
  const std::string page = page_of(*read.loom);
  CHECK(texts::has(page, "<td>draws</td><td>40 W</td><td>measured</td><td class=\"long\">one</td>"));
  CHECK(texts::has(page, "<td>shade</td><td>red</td><td>none given</td><td class=\"long\">one, two</td>"));
  const Solved solved = solve(*read.loom);
  CHECK(texts::has(text_of(*read.loom, judge(solved), {}), "4 values that stand in the kinds of the parts"));
  std::string given = bench;
  given.replace(given.find("{is: heater}"), 12,
                "{is: heater, draws: 9 W, works: 9 V to 16 V, feed: 12 V 2 A, shade: red}");
  given.replace(given.find("feed: 12 V 2 A}"), 15, "feed: 12 V 2 A, shade: blue}");
  const ReadResult full = read_loom(given, "bench.yaml");
  REQUIRE_MESSAGE(full.loom, (full.faults.empty() ? "" : full.faults.front().what));
  CHECK(rows_of(*full.loom).empty());
  CHECK_FALSE(texts::has(page_of(*full.loom), "id=\"kindtable\""));
}

TEST_CASE("no demo claims that nothing was taken: each has parts whose contacts are of the catalogue's resistance") {
  for (const char* name : {"orchard-cart", "marshals-quad", "parcel-trike"}) {
    const ReadResult read = read_loom(texts::of_file(SOURCE_ROOT + "/netlists/" + name + ".yaml"), name);
    REQUIRE(read.loom);
    CHECK(texts::has(rows_of(*read.loom), "contactor resistance = 0.2 mohm (common practice, no source):"));
  }
}
