// Which contact is precharged, how its bus charges, and how long that holds its charge.
#include <algorithm>
#include <cmath>

#include "show/paper_stage.h"

namespace loomproof {
namespace {

constexpr double most_precharge_ohm = 20e3;  // above this a resistor is a bleed or a sense lead

double volts_across(const BenchStage& stage, const OperatingPoint& point, const Capacitance& bank) {
  const auto v = voltage(stage.circuit, point, bank.a, bank.b);
  return v ? v->value : 0;
}

bool is_open(const Branch& b, const OperatingPoint& point) {
  return b.type == BranchType::contact && point.logic.contact_closed[b.index] == 0;
}

double ohm_of(const Circuit& circuit, const std::vector<std::size_t>& walk) {
  double ohm = 0;
  for (std::size_t i : walk) ohm += circuit.branches[i].ohm;
  return ohm;
}

// Pieces of low resistance around a capacitance in a settled point, and what bridges the two.
struct Bus {
  std::vector<int> tied;
  int pos = 0, neg = 0;

  Bus(const BenchStage& stage, const OperatingPoint& point, const Capacitance& bank)
      : tied(components(graph_of(stage.circuit), stage.circuit,
                        [&](const Branch& b) { return !is_open(b, point) && is_conductor(stage.circuit, b); })) {
    pos = tied[static_cast<std::size_t>(stage.circuit.node(bank.a))];
    neg = tied[static_cast<std::size_t>(stage.circuit.node(bank.b))];
  }
  bool bridged_by(const Branch& b) const {
    return tied[static_cast<std::size_t>(b.a)] == pos && tied[static_cast<std::size_t>(b.b)] == neg;
  }
};

double siemens_across(const BenchStage& stage, const Bus& bus) {
  double siemens = 0;
  for (const Branch& b : stage.circuit.branches) {
    const bool resists =
        b.type == BranchType::resistance || b.type == BranchType::coil || b.type == BranchType::pull ||
        (b.type == BranchType::load && stage.loom->elements.loads[b.index].form == Load::Form::resistive);
    if (resists && bus.bridged_by(b)) siemens += 1 / b.ohm;
  }
  return siemens;
}

}  // namespace

std::vector<PrechargedContact> precharged_contacts(const Plan& plan) {
  std::vector<PrechargedContact> out;
  if (!plan.pack || !plan.drives) return out;
  const Solved& solved = *plan.solved;
  const Circuit& circuit = solved.circuit;
  const BranchFilter conducts = [&](const Branch& b) { return is_conductor(circuit, b); };
  const auto& banks = solved.loom->elements.capacitances;
  for (std::size_t k = 0; k < banks.size(); ++k) {
    std::vector<std::size_t> way =
        walk_between(solved.graph, circuit, circuit.node(plan.pack->pos), circuit.node(banks[k].a), conducts);
    const auto back =
        walk_between(solved.graph, circuit, circuit.node(banks[k].b), circuit.node(plan.pack->neg), conducts);
    way.insert(way.end(), back.begin(), back.end());
    for (std::size_t i : way) {
      const Branch& b = circuit.branches[i];
      if (b.type != BranchType::contact) continue;
      const Contact& contact = solved.loom->elements.contacts[b.index];
      if (!contact.operated || contact.closed_when.op == Condition::Op::position) continue;
      BenchStage stage;
      stage.loom = std::make_unique<Loom>(*solved.loom);
      leave_open(*stage.loom, b.index);
      stage.circuit = build_circuit(*stage.loom);
      const OperatingPoint point = Network(stage.circuit).settle({plan.ready, Charge::nominal, std::nullopt});
      // A bus that stands at half the pack and more has a way around the open contact.
      if (point.trouble.empty() && volts_across(stage, point, banks[k]) > 0.5 * plan.pack_v)
        out.push_back({b.index, k});
    }
  }
  return out;
}

std::optional<BenchCurve> precharge_curve(const Plan& plan, const BenchStage& stage, const PrechargedContact& what,
                                          const OperatingPoint& charged) {
  const Loom& loom = *stage.loom;
  const Circuit& circuit = stage.circuit;
  const Capacitance& bank = loom.elements.capacitances[what.capacitance];
  if (!charged.trouble.empty() || !bank.farad || !plan.pack) return std::nullopt;
  const double settled_v = volts_across(stage, charged, bank);
  if (settled_v < 0.5 * plan.pack_v) return std::nullopt;
  double source_ohm = 0;
  for (const Branch& b : circuit.branches) {
    if (b.type != BranchType::source) continue;
    const Source& source = loom.elements.sources[b.index];
    if (source.part != loom.terminal(plan.pack->pos).part) continue;
    if (!source.ohm) return std::nullopt;
    source_ohm += b.ohm;
  }
  const CircuitGraph graph = graph_of(circuit);
  const BranchFilter passes = [&](const Branch& b) {
    if (is_open(b, charged)) return false;
    return is_conductor(circuit, b) || (b.type == BranchType::resistance && b.ohm <= most_precharge_ohm);
  };
  const auto there = walk_between(graph, circuit, circuit.node(plan.pack->pos), circuit.node(bank.a), passes);
  const auto back = walk_between(graph, circuit, circuit.node(bank.b), circuit.node(plan.pack->neg), passes);
  if (there.empty()) return std::nullopt;
  const Bus bus(stage, charged, bank);
  PrechargeCircuit c;
  c.source = Volt(plan.pack_v);
  c.source_resistance = Ohm(source_ohm);
  c.resistor = Ohm(ohm_of(circuit, there) + ohm_of(circuit, back));
  c.capacitance = Farad(*bank.farad);
  for (const Branch& b : circuit.branches) {
    if (!bus.bridged_by(b)) continue;
    if (b.type == BranchType::load) {
      const Load::Form form = loom.elements.loads[b.index].form;
      if (form == Load::Form::current) c.leakage = c.leakage + Ampere(charged.load_a[b.index]);
      if (form == Load::Form::power) c.power = c.power + Watt(charged.load_a[b.index] * settled_v);
    } else if (b.type == BranchType::converter_in) {
      const Converter& converter = loom.elements.converters[b.index];
      c.power = c.power + Watt(charged.converter_in_a[b.index] * settled_v);
      if (converter.low_v) c.starts_at = std::max(c.starts_at, Volt(*converter.low_v));
    }
  }
  const double siemens = siemens_across(stage, bus);
  if (siemens > 0) c.load = Ohm(1 / siemens);
  BenchCurve curve{c, bank.a, bank.b, {}};
  const double constant_s = (c.resistor.value + c.source_resistance.value) * c.capacitance.value;
  for (const double constants : {1.0, 3.0, 5.0}) {
    curve.points.push_back(precharge_transient(c, Second(constants * constant_s)).back());
  }
  return curve;
}

std::optional<Second> discharge_time(const Plan& plan, const BenchStage& stage, std::size_t capacitance,
                                     const OperatingPoint& open, Volt to) {
  const Capacitance& bank = stage.loom->elements.capacitances[capacitance];
  if (!bank.farad || !open.trouble.empty()) return std::nullopt;
  const double siemens = siemens_across(stage, Bus(stage, open, bank));
  if (siemens <= 0) return std::nullopt;
  return Second(*bank.farad / siemens * std::log(std::max(1.0, plan.pack_v / to.value)));
}

}  // namespace loomproof
