// What is altered in the loom for a stage, and what is read in a settled point of it.
#include "show/paper_stage.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "rules/subject.h"

namespace loomproof {
namespace {

constexpr double least_change_v = 0.5;
constexpr double supply_ohm = 0.01;  // of a bench supply with its leads; common practice, no source

Condition never() {
  Condition always;
  Condition out;
  out.op = Condition::Op::invert;
  out.of.push_back(always);
  return out;
}

bool same_pair(const BenchReading& r, TerminalIndex red, TerminalIndex black) {
  return r.red == red && r.black == black;
}

double volts_or_zero(const BenchStage& stage, const OperatingPoint& point, TerminalIndex a, TerminalIndex b) {
  const auto v = voltage(stage.circuit, point, a, b);
  return v ? v->value : 0;
}

// A pair to read, where it changed by more than a meter's noise; both ends have to be within reach of a probe.
void read_if_changed(const Plan& plan, const BenchStage& stage, const OperatingPoint* before, TerminalIndex red,
                     TerminalIndex black, std::string note, BenchStep& step) {
  if (!is_wired(*stage.loom, red) || !is_wired(*stage.loom, black)) return;
  const double now_v = volts_or_zero(stage, step.point, red, black);
  const double before_v = before ? volts_or_zero(stage, *before, red, black) : 0;
  if (std::fabs(now_v - before_v) > least_change_v) add_reading(plan, stage, red, black, std::move(note), step);
}

std::string volts_text(const char* words, const Datum& datum) {
  return datum ? fmt::format("{} {:.1f} V", words, *datum) : fmt::format("{} not in the file", words);
}

}  // namespace

Loom with_copper_at(const Loom& loom, Celsius copper) {
  // The network takes copper 30 K above the air beside it (network_copper_temperature).
  constexpr Celsius above_air{30};
  Loom out = loom;
  const Placed<Celsius> air{copper - above_air, {}, {}};
  out.ambient = air;
  for (Bundle& bundle : out.bundles) bundle.ambient = air;
  return out;
}

void take_out(Loom& loom, PartIndex part) {
  const auto of_part = [part](const Element& e) { return e.part == part; };
  std::erase_if(loom.elements.sources, of_part);
  std::erase_if(loom.elements.fuses, of_part);
  std::erase_if(loom.elements.resistances, of_part);
}

void stand_in(Loom& loom, Poles poles, Volt volts, std::optional<Ampere> limit) {
  Source supply;
  supply.part = loom.terminal(poles.pos).part;
  supply.name = "bench_supply";
  supply.pos = poles.pos;
  supply.neg = poles.neg;
  supply.full_v.value = supply.nominal_v.value = supply.empty_v.value = volts.value;
  supply.ohm.value = supply_ohm;
  if (limit) supply.limit_a.value = limit->value;
  supply.sinks = false;
  loom.elements.sources.push_back(std::move(supply));
}

std::string leave_open(Loom& loom, std::size_t contact) {
  const PartIndex part = loom.elements.contacts[contact].part;
  const Circuit circuit = build_circuit(loom);
  const std::vector<int> joined =
      components(graph_of(circuit), circuit, [](const Branch& b) { return b.type == BranchType::wire; });
  const auto group = [&](TerminalIndex t) { return joined[static_cast<std::size_t>(circuit.node(t))]; };
  const auto leads_at = [&](TerminalIndex t) {
    std::string wires;
    for (const Wire& wire : loom.wires) {
      if (wire.from == t || wire.to == t) wires += (wires.empty() ? "" : " and ") + wire.name;
    }
    return fmt::format("{} at {}", wires, loom.title(t));
  };
  const int frame = circuit.frame_node >= 0 ? joined[static_cast<std::size_t>(circuit.frame_node)] : -1;
  for (Coil& coil : loom.elements.coils) {
    if (coil.part != part) continue;
    // Off at the output that drives it, so that nothing else on that output starts either: a converter that waits for
    // the contactor would hang on the precharge resistor.
    for (Contact& driver : loom.elements.contacts) {
      const bool by_logic = driver.operated && driver.closed_when.op != Condition::Op::position &&
                            driver.closed_when.op != Condition::Op::coil;
      if (!by_logic || group(coil.b) == frame) continue;
      for (TerminalIndex t : {driver.a, driver.b}) {
        if (group(t) != group(coil.b)) continue;
        driver.closed_when = never();
        return leads_at(t);
      }
    }
    loom.elements.contacts[contact].closed_when = never();
    coil.ohm.value.reset();
    return leads_at(coil.b);
  }
  loom.elements.contacts[contact].closed_when = never();
  return fmt::format("whatever closes {}", loom.part(part).name);
}

void add_reading(const Plan& plan, const BenchStage& stage, TerminalIndex red, TerminalIndex black, std::string note,
                 BenchStep& step) {
  if (std::any_of(step.readings.begin(), step.readings.end(),
                  [&](const BenchReading& r) { return same_pair(r, red, black); }))
    return;
  BenchReading reading{red, black, {}, {}, std::move(note)};
  if (step.point.trouble.empty()) reading.expected = voltage(stage.circuit, step.point, red, black);
  const auto& zone = plan.solved->zone;
  const bool traction = zone[red.value] == Zone::traction && zone[black.value] == Zone::traction;
  const bool has_pack =
      std::any_of(stage.loom->elements.sources.begin(), stage.loom->elements.sources.end(),
                  [&](const Source& s) { return plan.pack && s.pos == plan.pack->pos && s.name != "bench_supply"; });
  if (traction && has_pack && plan.pack_v > 0 && reading.expected &&
      std::fabs(reading.expected->value) > least_change_v) {
    reading.of_pack = reading.expected->value / plan.pack_v;
  }
  step.readings.push_back(std::move(reading));
}

void read_traction(const Plan& plan, const BenchStage& stage, TerminalIndex black, const OperatingPoint* before,
                   BenchStep& step) {
  const Loom& loom = *stage.loom;
  // What wires alone join needs one reading: each of these wires is measured by itself in the continuity test.
  const std::vector<int> joined =
      components(graph_of(stage.circuit), stage.circuit, [](const Branch& b) { return b.type == BranchType::wire; });
  const auto group = [&](TerminalIndex t) {
    return static_cast<std::size_t>(joined[static_cast<std::size_t>(stage.circuit.node(t))]);
  };
  std::vector<char> seen(static_cast<std::size_t>(stage.circuit.nodes), 0);
  seen[group(black)] = 1;
  for (const Lead& lead : loom.elements.leads) seen[group(lead.terminal)] = 1;
  for (std::size_t t = 0; t < loom.terminals.size(); ++t) {
    const TerminalIndex terminal{t};
    if (seen[group(terminal)] != 0 || plan.solved->zone[t] != Zone::traction || !is_wired(loom, terminal)) continue;
    // Read where a probe finds a screw: not in a splice, and not at a pack that may be away.
    const Part& part = loom.part(loom.terminals[t].part);
    const bool at_pack = plan.pack && loom.terminals[t].part == loom.terminal(plan.pack->pos).part;
    if (at_pack || loom.kind_of(part).any_terminal) continue;
    seen[group(terminal)] = 1;
    if (before) {
      const double change_v =
          volts_or_zero(stage, step.point, terminal, black) - volts_or_zero(stage, *before, terminal, black);
      if (std::fabs(change_v) <= least_change_v) continue;
    }
    add_reading(plan, stage, terminal, black, "", step);
  }
}

void read_changes(const Plan& plan, const BenchStage& stage, const OperatingPoint* before, Side side, BenchStep& step) {
  const Elements& all = stage.loom->elements;
  const auto wanted = [&](TerminalIndex t) {
    const bool traction = plan.solved->zone[t.value] == Zone::traction;
    return side == Side::both || traction == (side == Side::traction);
  };
  const auto read = [&](TerminalIndex red, TerminalIndex black, std::string note) {
    if (wanted(red)) read_if_changed(plan, stage, before, red, black, std::move(note), step);
  };
  for (const Converter& c : all.converters) {
    read(c.in_pos, c.in_neg, "at the converter's input");
    read(c.out_pos, c.out_neg, "at the converter's output");
  }
  for (const Coil& c : all.coils) read(c.a, c.b, volts_text("coil; pulls in at", c.pull_in_v));
  for (const Load& l : all.loads) read(l.pos, l.neg, l.light ? "on: to be seen or heard; off at 0 V" : "");
  for (const Input& i : all.inputs) {
    std::string note = "input";
    if (i.analogue) {
      note += i.zero_v && i.full_v ? fmt::format("; {:.1f} V is no torque, {:.1f} V full", *i.zero_v, *i.full_v) : "";
    } else if (i.on_above_v) {
      note += fmt::format("; high from {:.1f} V", *i.on_above_v);
    }
    read(i.terminal, i.reference, note);
  }
}

std::optional<Ampere> supply_current(const BenchStage& stage, const OperatingPoint& point) {
  if (!point.trouble.empty()) return std::nullopt;
  const auto& sources = stage.loom->elements.sources;
  for (std::size_t i = 0; i < sources.size(); ++i) {
    if (sources[i].name == "bench_supply") return Ampere(point.source_a[i]);
  }
  return std::nullopt;
}

std::optional<Ampere> pack_amps(const Plan& plan, const OperatingPoint& point) {
  if (!point.trouble.empty() || !plan.pack) return std::nullopt;
  const auto& sources = plan.solved->loom->elements.sources;
  for (std::size_t i = 0; i < sources.size(); ++i) {
    if (sources[i].pos == plan.pack->pos) return Ampere(point.source_a[i]);
  }
  return std::nullopt;
}

}  // namespace loomproof
