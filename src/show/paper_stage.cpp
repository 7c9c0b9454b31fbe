// What is altered in the loom for a stage, and what is read in a settled point of it.
#include "show/paper_stage.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace loomproof {
namespace {

constexpr double least_change_v = 0.5;
constexpr double supply_ohm = 0.01;  // of a bench supply with its leads; common practice, no source

bool is_wired(const Loom& loom, TerminalIndex t) {
  return std::any_of(loom.wires.begin(), loom.wires.end(),
                     [&](const Wire& wire) { return wire.from == t || wire.to == t; });
}

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
  Contact& c = loom.elements.contacts[contact];
  c.closed_when = never();
  for (Coil& coil : loom.elements.coils) {
    if (coil.part != c.part) continue;
    coil.ohm.value.reset();
    std::string wires;
    for (const Wire& wire : loom.wires) {
      if (wire.from == coil.b || wire.to == coil.b) wires += " " + wire.name;
    }
    return fmt::format("wire{} at {}", wires, loom.title(coil.b));
  }
  return fmt::format("whatever closes {}", loom.part(c.part).name);
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
  std::vector<char> seen(static_cast<std::size_t>(stage.circuit.nodes), 0);
  seen[static_cast<std::size_t>(stage.circuit.node(black))] = 1;
  for (const Lead& lead : loom.elements.leads) seen[static_cast<std::size_t>(stage.circuit.node(lead.terminal))] = 1;
  for (std::size_t t = 0; t < loom.terminals.size(); ++t) {
    const TerminalIndex terminal{t};
    char& there = seen[static_cast<std::size_t>(stage.circuit.node(terminal))];
    if (there != 0 || plan.solved->zone[t] != Zone::traction || !is_wired(loom, terminal)) continue;
    // A lead of a part that is away ends nowhere; its other end is read at the part that it goes to.
    const bool away =
        std::none_of(loom.elements.sources.begin(), loom.elements.sources.end(),
                     [&](const Source& s) { return s.part == loom.terminals[t].part && s.name != "bench_supply"; }) &&
        plan.pack && loom.terminals[t].part == loom.terminal(plan.pack->pos).part;
    if (away && terminal != plan.pack->pos) continue;
    there = 1;
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
    read(c.in_pos, c.in_neg, "converter input");
    read(c.out_pos, c.out_neg, "converter output");
  }
  for (const Coil& c : all.coils) read(c.a, c.b, volts_text("coil; pulls in at", c.pull_in_v));
  for (const Load& l : all.loads) read(l.pos, l.neg, l.light ? "and it is to be seen or heard" : "");
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

std::optional<Ampere> pack_current(const Plan& plan, const OperatingPoint& point) {
  if (!point.trouble.empty() || !plan.pack) return std::nullopt;
  const auto& sources = plan.solved->loom->elements.sources;
  for (std::size_t i = 0; i < sources.size(); ++i) {
    if (sources[i].pos == plan.pack->pos) return Ampere(point.source_a[i]);
  }
  return std::nullopt;
}

std::optional<BenchCurve> precharge_curve(const Plan& plan, const BenchStage& stage, const Closing& closing,
                                          const OperatingPoint& charged) {
  const Loom& loom = *stage.loom;
  const Capacitance& bank = loom.elements.capacitances[closing.capacitance];
  if (!charged.trouble.empty() || !bank.farad || !closing.precharge_ohm || !closing.source_known) return std::nullopt;
  const double settled_v = volts_or_zero(stage, charged, bank.a, bank.b);
  if (charged.logic.contact_closed[closing.contact] != 0 || settled_v < least_change_v) return std::nullopt;
  const std::vector<int> tied = components(graph_of(stage.circuit), stage.circuit, [&](const Branch& b) {
    if (b.type == BranchType::contact && charged.logic.contact_closed[b.index] == 0) return false;
    return is_conductor(stage.circuit, b);
  });
  const int pos = tied[static_cast<std::size_t>(stage.circuit.node(bank.a))];
  const int neg = tied[static_cast<std::size_t>(stage.circuit.node(bank.b))];
  PrechargeCircuit c;
  c.source = Volt(plan.pack_v);
  c.source_resistance = Ohm(closing.loop_ohm);
  c.resistor = Ohm(*closing.precharge_ohm);
  c.capacitance = Farad(*bank.farad);
  double siemens = 0;
  for (const Branch& b : stage.circuit.branches) {
    if (tied[static_cast<std::size_t>(b.a)] != pos || tied[static_cast<std::size_t>(b.b)] != neg) continue;
    switch (b.type) {
      case BranchType::resistance:
      case BranchType::coil:
      case BranchType::pull:
        siemens += 1 / b.ohm;
        break;
      case BranchType::load: {
        const Load& load = loom.elements.loads[b.index];
        if (load.form == Load::Form::resistive) siemens += 1 / b.ohm;
        if (load.form == Load::Form::current) c.leakage = c.leakage + Ampere(charged.load_a[b.index]);
        if (load.form == Load::Form::power) c.power = c.power + Watt(charged.load_a[b.index] * settled_v);
        break;
      }
      case BranchType::converter_in: {
        const Converter& converter = loom.elements.converters[b.index];
        c.power = c.power + Watt(charged.converter_in_a[b.index] * settled_v);
        if (converter.low_v) c.starts_at = std::max(c.starts_at, Volt(*converter.low_v));
        break;
      }
      default:
        break;
    }
  }
  if (siemens > 0) c.load = Ohm(1 / siemens);
  BenchCurve curve{c, bank.a, bank.b, {}};
  const double constant_s = (c.resistor.value + c.source_resistance.value) * c.capacitance.value;
  for (const double constants : {1.0, 3.0, 5.0}) {
    curve.points.push_back(precharge_transient(c, Second(constants * constant_s)).back());
  }
  return curve;
}

}  // namespace loomproof
