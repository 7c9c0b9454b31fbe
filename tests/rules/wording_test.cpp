// What a finding says, where the wording itself was once wrong: a name for what is there, a fix that can be done.
#include <doctest/doctest.h>

#include "read/read.h"
#include "rules/design.h"
#include "rules/ledger.h"
#include "solve/solved.h"

using namespace loomproof;

namespace {

struct Said {
  std::string rule, all;  // all: its sentence, notes and fix
};

std::vector<Said> said_of(const std::string& text) {
  const ReadResult read = read_loom(text, "wording.yaml");
  REQUIRE_MESSAGE(read.loom, (read.faults.empty() ? "" : read.faults.front().what));
  const Judgement judgement = judge(solve(*read.loom));
  std::vector<Said> out;
  for (const Obligation* owed : judgement.findings()) {
    std::string all = owed->what + "\n" + owed->mend;
    for (const Note& note : owed->notes) all += "\n" + note.text;
    out.push_back({std::string(owed->rule->slug), all});
  }
  return out;
}

}  // namespace

TEST_CASE("the switch of a board that opens by current is called a switch in every finding about it, never a fuse") {
  // Its switch breaks too little, at too few volts, trips far above the wire, and is asked for more than its trip.
  std::size_t about = 0;
  for (const Said& said : said_of(R"(loom: 1
parts:
  pack: {is: pack, chemistry: lfp, series: 16, cell_resistance: 1 mohm, cell_capacity: 40 Ah}
  board: {is: bms-board, cells: 16, continuous: 10 A, volts: 24 V, breaks: 50 A at 24 V, discharge_trip: 12 A for 5 s}
  heater: {is: load, watts: 900 W, volts: 51 V}
wires:
  A: {from: pack.pos, to: heater.pos, size: 0.35 mm2, length: 1 m, insulation: pvc-105}
  B: {from: heater.neg, to: board.p_neg, size: 0.35 mm2, length: 1 m, insulation: pvc-105}
  C: {from: board.b_neg, to: pack.neg, size: 0.35 mm2, length: 0.1 m, insulation: pvc-105}
  D: {from: pack.pos, to: board.pos, size: 0.35 mm2, length: 0.1 m, insulation: pvc-105}
)")) {
    if (said.rule != "fuse-volts" && said.rule != "fuse-duty" && said.rule != "fuse-breaking-capacity") continue;
    CAPTURE(said.all);
    ++about;
    CHECK(said.all.find("switch") != std::string::npos);
    CHECK(said.all.find("fuse") == std::string::npos);
  }
  CHECK(about == 3);
}

TEST_CASE("a board whose time to trip is not given is asked for that, not for the curve of a fuse") {
  std::size_t about = 0;
  for (const Said& said : said_of(R"(loom: 1
parts:
  pack: {is: pack, chemistry: lfp, series: 16, cell_resistance: 1 mohm, cell_capacity: 40 Ah}
  board: {is: bms-board, cells: 16, continuous: 40 A, volts: 80 V, breaks: 5 kA at 80 V, discharge_trip: 60 A}
  heater: {is: load, watts: 900 W, volts: 51 V}
wires:
  A: {from: pack.pos, to: heater.pos, size: 6 mm2, length: 1 m, insulation: pvc-105}
  B: {from: heater.neg, to: board.p_neg, size: 6 mm2, length: 1 m, insulation: pvc-105}
  C: {from: board.b_neg, to: pack.neg, size: 6 mm2, length: 0.1 m, insulation: pvc-105}
)")) {
    CAPTURE(said.all);
    CHECK(said.all.find("curve") == std::string::npos);
    about += said.all.find("discharge_trip: 100 A for 5 s") != std::string::npos ? 1 : 0;
  }
  CHECK(about >= 1);
}

TEST_CASE("an insulation that the table does not have is quoted, with those that it has; never asked for again") {
  std::size_t about = 0;
  for (const Said& said : said_of(R"(loom: 1
parts:
  pack: {is: pack, chemistry: lfp, series: 4, cell_resistance: 1 mohm}
  fuse: {is: fuse, rated: 10 A, volts: 32 V, breaks: 20 kA, curve: blade}
  lamp: {is: lamp, watts: 5 W, volts: 12 V}
wires:
  A: {from: pack.pos, to: fuse.a, size: 2.5 mm2, length: 0.1 m, insulation: pvc-105}
  B: {from: fuse.b, to: lamp.a, size: 2.5 mm2, length: 1 m, insulation: nylon}
  C: {from: lamp.b, to: pack.neg, size: 2.5 mm2, length: 1 m, insulation: pvc-105}
)")) {
    if (said.all.find("insulation") == std::string::npos) continue;
    CAPTURE(said.rule);
    ++about;
    CHECK(said.all.find("insulation 'nylon' of 'B' is not in the table") != std::string::npos);
    CHECK(said.all.find("pvc-70, pvc-85") != std::string::npos);
    CHECK(said.all.find("write `insulation:`") == std::string::npos);
  }
  CHECK(about >= 2);  // wire-heat, and the fuse that has to protect it
}

TEST_CASE("no figure of a demo is printed like its limit while it is not at its limit") {
  for (const auto& path : test::designs_in(std::filesystem::path(SOURCE_ROOT) / "netlists")) {
    const test::Design demo(path);
    for (const Obligation& owed : demo.judgement.obligations) {
      if (!owed.figure || owed.figure->value != owed.figure->limit) continue;
      CAPTURE(path.string());
      CAPTURE(owed.subject.name);
      CHECK(owed.figure->used == doctest::Approx(1).epsilon(5e-4));
    }
  }
}
