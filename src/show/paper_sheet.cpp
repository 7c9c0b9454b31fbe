// Every step of the test sheet as a row: where the leads go, what is expected, when it passes, a box for the reading.
#include "show/paper_sheet.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "show/caution.h"
#include "show/paper_bench.h"
#include "show/paper_stage.h"
#include "show/stud_names.h"
#include "solve/supply.h"
#include "units/print.h"

namespace loomproof {
namespace {

using Row = std::vector<std::string>;

constexpr double ohm_per_volt_dc = 100;  // UN R136 5.1.3.1, ISO 6469-3
constexpr double ohm_per_volt_ac = 500;  // the same, motor phases
constexpr Ohm bond_limit{0.1};           // at 0.2 A or more; UN R100 5.1.2.2
constexpr Ohm hoped_isolation{1e6};      // a dry new loom; common practice, no source
constexpr Ampere drop_test{10};
constexpr double float_limit_v = 0.5;

std::string volts(double v) {
  return std::fabs(v) < 10 ? fmt::format("{:.2f} V", v + 0.0) : fmt::format("{:.1f} V", v);
}

// As a meter for wires and joints shows it: milliohm below one ohm.
std::string ohms(Ohm value) {
  return value.value < 0.1 ? fmt::format("{:.3g} mohm", value.value * 1000) : fmt::format("{:.3g} ohm", value.value);
}

std::string names_of(const Loom& loom, const Circuit& circuit, const std::vector<std::size_t>& walk) {
  std::string out;
  for (std::size_t i : walk) {
    const Branch& b = circuit.branches[i];
    std::string name;
    if (b.type == BranchType::wire) {
      name = loom.wires[b.index].name;
    } else if (b.type == BranchType::fuse) {
      name = loom.part(loom.elements.fuses[b.index].part).name;
    } else if (b.type == BranchType::contact) {
      name = loom.part(loom.elements.contacts[b.index].part).name;
    } else {
      continue;
    }
    out += (out.empty() ? "" : " - ") + name;
  }
  return out;
}

PaperSection continuity(const Solved& solved) {
  const Loom& loom = *solved.loom;
  PaperSection section;
  section.heading = "A. Continuity of every wire";
  section.lines = {
      "Pack away, both 12 V supplies away, fuses out, plugs apart. Leads of the meter touched together first and "
      "zeroed.",
      fmt::format(
          "Expected: the wire alone at 20 degC. A hand meter shows 0.0 to 0.1 ohm for most of them: it proves that "
          "the wire goes where it should, not that the crimp is good. For that drive {} through a thick wire and "
          "read the drop.",
          show(drop_test)),
      "A wire that ends in a splice is measured from its far end to the far end of another wire of the splice; the two "
      "add "
      "up."};
  for (std::size_t w = 0; w < loom.wires.size(); ++w) {
    const Wire& wire = loom.wires[w];
    const auto ohm = wire_resistance(wire, Celsius(20));
    std::string expected = ohm ? ohms(*ohm) : "not computed: size or length not in the file";
    if (ohm && wire.size->value.value >= 6) {
      expected += fmt::format(" ({} at {})", show(Volt(ohm->value * drop_test.value)), show(drop_test));
    }
    section.rows.push_back({fmt::format("A{}", w + 1),
                            fmt::format("{}{}{}", wire.name, wire.colour ? " " + wire.colour->value : std::string(),
                                        wire.size ? " " + size_text(wire) : std::string()),
                            loom.title(wire.from), loom.title(wire.to), expected,
                            "below " + ohms(continuity_limit(ohm.value_or(Ohm(0)))), "", "", ""});
  }
  section.stop =
      "a wire that reads open or above its limit, or that reads to any other terminal: mend it before you go on";
  return section;
}

void add_open_neighbours(const Loom& loom, PaperSection& section) {
  for (const Part& part : loom.parts) {
    if (loom.kind_of(part).symbol != "connector") continue;
    const int pins = static_cast<int>(part.number("pins").value_or(0));
    for (int pin = 1; pin < pins; ++pin) {
      const auto a = loom.find_terminal(fmt::format("{}.p{}", part.name, pin));
      const auto b = loom.find_terminal(fmt::format("{}.p{}", part.name, pin + 1));
      if (!a || !b) continue;
      section.rows.push_back({fmt::format("B{}", section.rows.size() + 1), "neighbouring pins, plug apart",
                              loom.title(*a), loom.title(*b), "open", "no continuity", "", "", ""});
    }
  }
}

/// No figure where the voltage is not told: the sheet never asks for "at least 0 ohm".
std::string least_isolation(const std::optional<Volt>& full, double ohm_per_volt) {
  return full ? "at least " + show(Ohm(full->value * ohm_per_volt))
              : fmt::format("at least {:.0f} ohm for every volt of the full pack", ohm_per_volt);
}

PaperSection isolation(const Solved& solved, const Plan& plan) {
  const Loom& loom = *solved.loom;
  const std::optional<Volt> full = touch_volts(solved);
  PaperSection section;
  section.heading = "B. Isolation and what must be open";
  section.lines = {
      fmt::format("Pack away. Electronics unplugged, as their makers say: an insulation tester kills controllers, "
                  "converters and battery management. Test voltage: {} (common practice, no source).",
                  full ? fmt::format("{} V DC, the next usual one above the {} of the full pack",
                                     full->value > 250 ? 500 : 250, volts(full->value))
                       : "the next usual one above that of the full pack, which the file does not tell"),
      fmt::format(
          "Limit: {:.0f} ohm for every volt of the full pack{} (UN R136 5.1.3.1 and ISO 6469-3, DC; from "
          "tests/reference/voltage_class_limits.csv). Motor phases: {:.0f} ohm/V. A dry new loom has far above {}; "
          "less than that deserves a search (common practice, no source).",
          ohm_per_volt_dc, full ? ", " + show(isolation_limit(*full)) : "", ohm_per_volt_ac, show(hoped_isolation)),
      "Pack and both 12 V supplies away, as in section A, but all fuses back in and all plugs mated again except at "
      "the "
      "electronics. All contactors bridged by hand or closed by a bench supply on their coils, service plug in: what "
      "is "
      "left open the test does not reach. Take the fuses out again after this section."};
  const auto row = [&](std::string what, std::string a, std::string b, std::string expected, std::string limit) {
    section.rows.push_back({fmt::format("B{}", section.rows.size() + 1), std::move(what), std::move(a), std::move(b),
                            std::move(expected), std::move(limit), "", "", ""});
  };
  const std::string least = least_isolation(full, ohm_per_volt_dc);
  const std::string hoped = "above " + show(hoped_isolation);
  std::optional<TerminalIndex> frame;
  bool has_frame = false;
  for (const Part& part : loom.parts) {
    if (!loom.kind_of(part).is_frame) continue;
    has_frame = true;
    if (!part.terminals.empty()) frame = part.terminals.front();
  }
  if (plan.pack) {
    const std::string pos = loom.title(plan.pack->pos), neg = loom.title(plan.pack->neg);
    const auto apart = [&](const std::string& what, const std::string& from, TerminalIndex traction,
                           TerminalIndex other) {
      const bool tied = solved.circuit.island_of[solved.circuit.node(traction)] ==
                        solved.circuit.island_of[solved.circuit.node(other)];
      row(what, from, loom.title(other), tied ? "NOT isolated: the file ties the two together" : hoped, least);
    };
    if (frame) {
      apart("traction + to frame", "lead of " + pos, plan.pack->pos, *frame);
      apart("traction - to frame", "lead of " + neg, plan.pack->neg, *frame);
    } else {
      if (!has_frame) section.lines.emplace_back("The file has no frame: measure against bare metal all the same.");
      for (const auto& [what, lead] : {std::pair("traction + to frame", pos), std::pair("traction - to frame", neg)})
        row(what, "lead of " + lead, "bare metal of the frame", hoped, least);
    }
    if (plan.low) {
      apart("traction + to 12 V +", "lead of " + pos, plan.pack->pos, plan.low->pos);
      apart("traction + to 12 V -", "lead of " + pos, plan.pack->pos, plan.low->neg);
      apart("traction - to 12 V +", "lead of " + neg, plan.pack->neg, plan.low->pos);
      apart("traction - to 12 V -", "lead of " + neg, plan.pack->neg, plan.low->neg);
    }
    row("traction + to traction -", "lead of " + pos, "lead of " + neg,
        "open, once capacitors are charged by the meter", "above 1 kohm and rising, electronics unplugged: open");
  }
  for (const Lead& lead : loom.elements.leads) {
    if (!lead.gives) continue;
    row("motor phase to frame, controller unplugged", loom.title(lead.terminal), frame ? loom.title(*frame) : "frame",
        hoped, least_isolation(full, ohm_per_volt_ac));
  }
  std::string first_stud;
  for (const Part& part : loom.parts) {
    if (!loom.kind_of(part).is_frame) continue;
    for (TerminalIndex stud : part.terminals) {
      if (first_stud.empty()) {
        first_stud = loom.title(stud);
        continue;
      }
      row("bond of frame studs, at 0.2 A or more", first_stud, loom.title(stud), "0.0 ohm",
          "below " + ohms(bond_limit));
    }
  }
  for (std::string& stud : likely_slips_in_studs(loom)) section.lines.push_back(std::move(stud) + ".");
  add_open_neighbours(loom, section);
  section.stop = "any reading below its limit: find it and mend it; nothing is powered up before";
  return section;
}

// Terminals that must not be reversed, with the pole of the supply that each has to lead back to.
PaperSection polarity(const Solved& solved) {
  const Loom& loom = *solved.loom;
  const Circuit& circuit = solved.circuit;
  PaperSection section;
  section.heading = "C. Polarity, nothing powered";
  section.lines = {
      "Pack away. Follow each way with the continuity tester, fuses in, plugs mated. A contact on the way is "
      "open at rest: test up to it and from it, or hold it closed.",
      "Coils: with a diode across the coil a swap is a short circuit."};
  const BranchFilter conducts = [&](const Branch& b) { return is_conductor(circuit, b); };
  const std::vector<SupplyPoles> supplies = supply_poles(circuit);
  // A charger or a sensor's supply comes and goes: what must not be reversed is judged against what is always there.
  const auto feeds = [&](PartIndex part) {
    const auto& sources = loom.elements.sources;
    return std::none_of(sources.begin(), sources.end(),
                        [&](const Source& s) { return s.part == part && s.when.op != Condition::Op::always; });
  };
  const auto way = [&](TerminalIndex t, bool positive, PartIndex self) -> std::pair<std::string, std::string> {
    const int node = circuit.node(t);
    std::vector<std::size_t> best;
    std::string supply;
    for (const SupplyPoles& s : supplies) {
      if (s.part == self || !feeds(s.part)) continue;
      const int pole = positive ? s.pos : s.neg;
      if (circuit.island_of[pole] != circuit.island_of[node]) continue;
      const auto walk = walk_between(solved.graph, circuit, pole, node, conducts);
      if (walk.empty() && pole != node) continue;
      if (!supply.empty() && walk.size() >= best.size()) continue;
      best = walk;
      supply = fmt::format("{} {}", loom.part(s.part).name, positive ? "+" : "-");
    }
    return {supply, names_of(loom, circuit, best)};
  };
  std::vector<std::pair<TerminalIndex, TerminalIndex>> done;
  const auto pair = [&](TerminalIndex pos, TerminalIndex neg, PartIndex self) {
    const auto wired = [&](TerminalIndex t) {
      return std::any_of(loom.wires.begin(), loom.wires.end(), [&](const Wire& w) { return w.from == t || w.to == t; });
    };
    if (!wired(pos) || !wired(neg) || std::find(done.begin(), done.end(), std::pair(pos, neg)) != done.end()) return;
    done.emplace_back(pos, neg);
    for (const bool positive : {true, false}) {
      const TerminalIndex t = positive ? pos : neg;
      const auto [supply, walk] = way(t, positive, self);
      section.rows.push_back({fmt::format("C{}", section.rows.size() + 1), positive ? "plus" : "minus", loom.title(t),
                              supply.empty() ? "no supply leads here" : supply, walk.empty() ? "same point" : walk,
                              supply.empty() ? "" : "continuity along this way", "", "", ""});
    }
  };
  const auto marked = [&](TerminalIndex t) { return loom.terminal(t).name.find("pos") != std::string::npos; };
  for (const Capacitance& c : loom.elements.capacitances) pair(c.a, c.b, c.part);
  for (const Converter& c : loom.elements.converters) pair(c.in_pos, c.in_neg, c.part);
  for (const Load& l : loom.elements.loads) {
    if (marked(l.pos)) pair(l.pos, l.neg, l.part);
  }
  for (const Source& s : loom.elements.sources) {
    if (s.zone == Zone::traction && marked(s.pos) && s.when.op != Condition::Op::always) pair(s.pos, s.neg, s.part);
  }
  for (const Coil& c : loom.elements.coils) {
    if (c.suppression == "diode" || c.suppression == "zener") pair(c.a, c.b, c.part);
  }
  section.stop = "a plus that leads to a minus: mend it; a reversed controller or converter is dead at the first volt";
  return section;
}

std::string band(Volt expected) {
  const Volt half = reading_tolerance(expected);
  return fmt::format("{} to {}", volts((expected - half).value), volts((expected + half).value));
}

void add_rows(const Loom& loom, const BenchStep& step, const std::string& number, PaperSection& section) {
  section.rows.push_back({number, step.todo, "", "",
                          step.point.trouble.empty() ? "" : "not computed: " + step.point.trouble,
                          step.point.trouble.empty() ? "" : "STOP: do not take this step", "", "", ""});
  if (!step.point.trouble.empty()) return;
  std::size_t k = 0;
  const auto next = [&] { return fmt::format("{}.{}", number, ++k); };
  for (const BenchReading& r : step.readings) {
    Row row{next(), r.note.empty() ? "voltage" : r.note, loom.title(r.red), loom.title(r.black)};
    if (r.expected && std::fabs(r.expected->value) >= 0.05) {
      row.push_back(volts(r.expected->value));
      row.push_back(r.of_pack ? "± " + volts(reading_tolerance(*r.expected).value) : band(*r.expected));
      row.push_back(r.of_pack ? fmt::format("{:.3f}", *r.of_pack) : "");
    } else {
      row.insert(row.end(), {r.expected ? "0 V" : "0 V (not connected)",
                             fmt::format("between -{0:.1f} and {0:.1f} V", float_limit_v), ""});
    }
    row.insert(row.end(), {"", ""});
    section.rows.push_back(std::move(row));
  }
  for (const BenchSight& s : step.sights) {
    section.rows.push_back({next(), s.what, "", "", s.expected, s.passes, "", "", ""});
  }
  if (step.supply) {
    const double a = step.supply->value;
    section.rows.push_back({next(), "current, by a clamp or the supply's meter", "", "",
                            show(Ampere(std::fabs(a) < 1e-3 ? 0 : a)),
                            fmt::format("below {}", show(Ampere(std::max(0.0, a) * 1.2 + 0.05))), "", "", ""});
  }
}

PaperSection stage_of(const BenchStage& stage) {
  const Loom& loom = *stage.loom;
  PaperSection section;
  section.heading = stage.title;
  section.lines = stage.setup;
  for (const std::string& lacking : stage.lacking) section.lines.push_back("NOT COMPUTED: " + lacking + ".");
  const std::string prefix = stage.title.substr(0, stage.title.find('.'));
  for (std::size_t i = 0; i < stage.steps.size(); ++i) {
    add_rows(loom, stage.steps[i], fmt::format("{}.{}", prefix, i + 1), section);
    if (!stage.curve || stage.curve_after != i) continue;
    const BenchCurve& curve = *stage.curve;
    const double constant_s = curve.points.front().time_s;
    section.lines.push_back(
        fmt::format("Precharge: {} through {}, time constant {}.{}", show(curve.circuit.capacitance),
                    show(curve.circuit.resistor), show(Second(constant_s)),
                    constant_s < 0.5 ? " Too fast for a hand meter: the readings in time need a recording meter, the "
                                       "settled one does not."
                                     : ""));
    std::size_t k = 0;
    for (const BusPoint& point : curve.points) {
      section.rows.push_back({fmt::format("{}.{}.t{}", prefix, i + 1, ++k),
                              fmt::format("bus {} after the relay closes", show(Second(point.time_s))),
                              loom.title(curve.red), loom.title(curve.black), volts(point.voltage_v),
                              "± 10 % (resistor and capacitors)",
                              fmt::format("{:.3f}", point.voltage_v / curve.circuit.source.value), "", ""});
    }
  }
  section.stop = stage.stop;
  return section;
}

}  // namespace

Volt reading_tolerance(Volt expected) {
  return Volt(0.1 + 0.02 * std::fabs(expected.value));
}

Ohm continuity_limit(Ohm expected) {
  return std::max(Ohm(0.5), 2.0 * expected);
}

Ohm isolation_limit(Volt full) {
  return Ohm(full.value * ohm_per_volt_dc);
}

Paper test_sheet(const Solved& solved) {
  Paper paper;
  paper.slug = "test-sheet";
  paper.title = "Test sheet and first power-up";
  paper.landscape = true;
  paper.cautions = bench_cautions(solved);
  paper.columns = {{"step"},
                   {"do, or measure", false, false, true},
                   {"red lead, or one end"},
                   {"black lead, or other end"},
                   {"expected"},
                   {"passes when"},
                   {"x Vp", false, true},
                   {"measured", true},
                   {"ok", true}};
  paper.sections.push_back(continuity(solved));
  paper.sections.push_back(isolation(solved, plan_of(solved)));
  paper.sections.push_back(polarity(solved));
  for (const BenchStage& stage : bench_stages(solved)) paper.sections.push_back(stage_of(stage));
  paper.notes = {
      "Expected voltages are solved from the network of the file as it stands in each stage, copper at 20 degC, "
      "switches "
      "in the positions that the steps say.",
      "Tolerance of a voltage: 2 % of the reading and 0.1 V, for the meter and the supply; of a current: 20 % and 50 "
      "mA, "
      "for consumers differ from their nominal power (common practice, no source).",
      "0 V (not connected): no conductor ties the two points, so a meter draws them together.",
      "Every step passed is a step passed on that day: repeat it after every change (`loomproof compare` says which)."};
  return paper;
}

}  // namespace loomproof
