// A small loom and a judgement of it, built by hand: one of everything that an output has to show.
#pragma once

#include "read/read.h"
#include "rules/ledger.h"
#include "rules/list.h"
#include "show/show.h"

namespace sample {

inline const loomproof::Rule wire_heat{"wire-heat", loomproof::Group::conductors, loomproof::Severity::danger,
                                       "No conductor gets hotter than its insulation allows.", nullptr};
inline const loomproof::Rule fuse_volts{"fuse-volts", loomproof::Group::protection, loomproof::Severity::damage,
                                        "Every fuse stands the voltage that it opens.", nullptr};
inline const loomproof::Rule colour_code{"colour-code", loomproof::Group::completeness, loomproof::Severity::paperwork,
                                         "Every wire has a colour.", nullptr};

inline loomproof::Subject wire(std::string name, int line, int column = 3) {
  return {std::move(name), {line, column}, {}, {}};
}

inline loomproof::Loom loom() {
  loomproof::Loom made;
  made.file = "netlists/orchard-cart.yaml";
  made.vehicle = "Orchard cart";
  made.lines = {
      "loom: 1",
      "wires:",
      "  T4: {from: pack.pos, to: drive.bat_pos, size: 4 mm2, insulation: pvc-105, in: trunk}",
      "\tT5: {from: pack.neg, to: drive.bat_neg, size: 35 mm2}",
      "  F9: {is: fuse, rated: 150 A, volts: 32 V}",
      "  S1: {from: key.on, to: main.coil_a, size: 0.75 mm2, insulation: pvc-105, length: 1.9 m, colour: BU, in: "
      "handlebar, volts: 60 V, sheathed: true}",
  };
  for (const char* name : {"T4", "T5", "S1"}) {
    made.wires.emplace_back();
    made.wires.back().name = name;
  }
  made.waivers.push_back({"colour-code", "T5", "marked with sleeves instead", {40, 5}});
  made.waivers.push_back({"fuse-volts", "F1", "gone since", {41, 5}});
  return made;
}

inline loomproof::Judgement judgement() {
  using loomproof::Figure;
  loomproof::Ledger ledger;
  ledger.open(wire_heat, wire("T4", 3))
      .broken("'T4' reaches 131 degC and its insulation allows 105 degC", Figure{"131 degC", "105 degC", 1.4},
              "full pack, key on, climb: 120 A for 45 s, bundled with T5")
      .see({3, 55}, "limit set by this insulation")
      .note("and in 11 more situations")
      .fix("25 mm2 or larger stays below 105 degC");
  ledger.open(fuse_volts, wire("F9", 5, 18))
      .broken("'F9' is rated 32 V and opens 58.4 V", Figure{"58.4 V", "32 V", 1.825});
  ledger.open(wire_heat, wire("T5", 4, 2))
      .undecided("length of 'T5' is not given", "write `length: 1.2 m` into wire 'T5'");
  ledger.open(fuse_volts, {"whole loom", {}, {}, {}}).undecided("the voltage of the charger is not given", "");
  ledger.open(wire_heat, wire("S1", 6, 106)).holds(Figure{"97.2 degC", "105 degC", 0.9996}, "empty pack, climb");
  ledger.open(fuse_volts, wire("pack_fuse", 5)).holds(Figure{"58.4 V", "80 V", 0.73});
  ledger.open(colour_code, wire("T4", 3)).holds("colour given");
  ledger.open(colour_code, wire("T5", 4)).broken("'T5' has no colour").waived = "marked with sleeves instead";
  ledger.assume("insulation of 'T5' taken as pvc-70", {4, 2});
  ledger.assume("ambient taken as 40 degC", {});
  ledger.assume("insulation of 'S1' taken as pvc-70", {6, 3});
  loomproof::Judgement made{
      {ledger.obligations().begin(), ledger.obligations().end()}, ledger.assumptions(), {}, {1240, 1240, "", "", 0, 0, 0, 0, 0, 0, ""}};
  sort_for_reading(made.obligations);
  return made;
}

/// The same, with names and reasons that try to command a terminal or to break out of a format.
inline const std::string hostile = "a\x1b[31m\"<b>&'\n\r\t\x9b\xc2\x9b\x07\xe2\x80\xae\\\x7f";

inline loomproof::Loom hostile_loom() {
  loomproof::Loom made = loom();
  made.file = "x/" + hostile + ".yaml";
  made.vehicle = hostile;
  made.lines[2] = "  " + hostile + ": {size: 4 mm2}";
  made.waivers[0] = {hostile, hostile, hostile, {40, 5}};
  return made;
}

inline loomproof::Judgement hostile_judgement() {
  loomproof::Ledger ledger;
  ledger.open(wire_heat, wire(hostile, 3))
      .broken("'" + hostile + "' is hot", loomproof::Figure{hostile, hostile, 1.4}, hostile)
      .see({3, 1}, hostile)
      .note(hostile)
      .fix(hostile);
  ledger.open(wire_heat, wire(hostile, 3)).undecided(hostile, hostile);
  ledger.open(wire_heat, wire(hostile, 3)).holds(loomproof::Figure{hostile, hostile, 0.4}, hostile);
  ledger.open(wire_heat, wire(hostile, 3)).broken(hostile).waived = hostile;
  ledger.assume("insulation of '" + hostile + "' taken as x", {});
  ledger.assume("insulation of 'b" + hostile + "' taken as x", {});
  loomproof::Judgement made{
      {ledger.obligations().begin(), ledger.obligations().end()}, ledger.assumptions(), {}, {1, 2, hostile, "", 0, 0, 0, 0, 0, 0, ""}};
  sort_for_reading(made.obligations);
  return made;
}

}  // namespace sample
