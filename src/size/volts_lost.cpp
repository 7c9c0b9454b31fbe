// The way is any walk of closed conductors: with the currents held, the voltage between its ends is the sum along it.
#include "size/volts_lost.h"

#include <algorithm>
#include <cmath>

#include "rules/list.h"
#include "solve/supply.h"
#include "units/print.h"

namespace loomproof {
namespace {

// What the rule looked at: two terminals in one settled point, and the least voltage that must be left between them.
struct Floor {
  TerminalIndex pos, neg;
  std::size_t point = 0;
  double least_v = 0;
};

double between(const Corner& corner, std::size_t p, TerminalIndex a, TerminalIndex b) {
  const auto v = voltage(corner.solved.circuit, corner.solved.points[p], a, b);
  return v ? std::fabs(v->value) : 0;
}

// The supply that note_drops() counts the drop from: of the same piece, nearest above the consumer's own voltage.
const SupplyPoles* supply_of(const std::vector<SupplyPoles>& all, const Circuit& circuit, const OperatingPoint& point,
                             const Floor& floor) {
  const SupplyPoles* best = nullptr;
  const double v = point.node_v[circuit.node(floor.pos)] - point.node_v[circuit.node(floor.neg)];
  double best_v = 0;
  for (const SupplyPoles& s : all) {
    if (point.piece[s.pos] != point.piece[circuit.node(floor.pos)]) continue;
    const double here = point.node_v[s.pos] - point.node_v[s.neg];
    if (here >= v - 1e-9 && (!best || here < best_v)) {
      best = &s;
      best_v = here;
    }
  }
  return best;
}

std::optional<Floor> drop_floor(const Corner& corner, const Obligation& owed, double margin) {
  const Solved& solved = corner.solved;
  const Elements& all = corner.loom->elements;
  for (std::size_t i = 0; i < all.loads.size(); ++i) {
    if (all.loads[i].part != owed.subject.part) continue;
    const Extreme& drop = solved.extremes.load_drop[i];
    if (!drop || fmt::format("{:.1f} %", drop.value * 100) != owed.figure->value) continue;
    const double v = between(corner, *drop.point, all.loads[i].pos, all.loads[i].neg);
    const double supply_v = v / (1 - drop.value);
    const double limit = drop.value / owed.figure->used * (1 - margin);
    return Floor{all.loads[i].pos, all.loads[i].neg, *drop.point, supply_v * (1 - limit)};
  }
  return std::nullopt;
}

// The point in which two terminals of the subject have just the figure that the rule printed.
std::optional<Floor> voltage_floor(const Corner& corner, const Obligation& owed, double margin) {
  const Elements& all = corner.loom->elements;
  std::vector<std::pair<TerminalIndex, TerminalIndex>> poles;
  for (const Load& e : all.loads) {
    if (e.part == owed.subject.part) poles.emplace_back(e.pos, e.neg);
  }
  for (const Coil& e : all.coils) {
    if (e.part == owed.subject.part) poles.emplace_back(e.a, e.b);
  }
  for (const Converter& e : all.converters) {
    if (e.part == owed.subject.part) poles.emplace_back(e.in_pos, e.in_neg);
  }
  for (std::size_t p = 0; p < corner.solved.points.size(); ++p) {
    for (auto [pos, neg] : poles) {
      const double v = between(corner, p, pos, neg);
      if (v < 0.5 || show(Volt(v)) != owed.figure->value) continue;
      const Circuit& circuit = corner.solved.circuit;
      const OperatingPoint& point = corner.solved.points[p];
      if (point.node_v[circuit.node(pos)] < point.node_v[circuit.node(neg)]) std::swap(pos, neg);
      return Floor{pos, neg, p, v * owed.figure->used / (1 - margin)};
    }
  }
  return std::nullopt;
}

bool conducts(const Circuit& circuit, const OperatingPoint& point, const Branch& b) {
  if (b.type == BranchType::contact && point.logic.contact_closed[b.index] == 0) return false;
  if (b.type == BranchType::diode && point.diode_a[b.index] <= 0) return false;
  return is_conductor(circuit, b);
}

// The consumer itself, being past its limit, draws no less in any choice that holds. Of what else a wire carries only
// this share is sure: filament lamps within their limit have 97 % of what the supply gives; coils count in the 0.2 %.
double sure_share(const Ground& ground, const Corner& corner, const OperatingPoint& point, const Floor& floor) {
  const double lamp_least = 1 - 0.03 * (1 - ground.margin);
  constexpr double coils = 0.998;
  const Circuit& circuit = corner.solved.circuit;
  double most = lamp_least;
  const std::vector<SupplyPoles> supplies = supply_poles(circuit);
  for (const Load& load : corner.loom->elements.loads) {
    if (load.form != Load::Form::resistive || !load.rated_v || load.pos == floor.pos) continue;
    const double v = point.node_v[circuit.node(load.pos)] - point.node_v[circuit.node(load.neg)];
    for (const SupplyPoles& s : supplies) {
      const double supply_v = point.node_v[s.pos] - point.node_v[s.neg];
      if (point.piece[s.pos] != point.piece[circuit.node(load.pos)] || supply_v < v || v < 0.5 * *load.rated_v)
        continue;
      if (v / supply_v > 0.5) most = std::max(most, v / supply_v);
    }
  }
  return lamp_least / most * coils;
}

double own_current(const Corner& corner, const OperatingPoint& point, const Floor& floor) {
  const auto& loads = corner.loom->elements.loads;
  for (std::size_t i = 0; i < loads.size(); ++i) {
    if (loads[i].pos == floor.pos && loads[i].neg == floor.neg) return std::fabs(point.load_a[i]);
  }
  return 0;
}

class Way {
 public:
  Way(const Ground& ground, const Lookup& lookup, const Corner& corner, const Floor& floor)
      : ground_(ground),
        lookup_(lookup),
        corner_(corner),
        point_(corner.solved.points[floor.point]),
        own_a_(own_current(corner, point_, floor)),
        others_sure_(sure_share(ground, corner, point_, floor)) {}

  // @return false when no walk joins the nodes
  bool walk(int from, int to) {
    if (from == to) return true;
    const Circuit& circuit = corner_.solved.circuit;
    const auto walk = walk_between(corner_.solved.graph, circuit, from, to,
                                   [&](const Branch& b) { return conducts(circuit, point_, b); });
    if (walk.empty()) return false;
    int node = from;
    for (const std::size_t i : walk) {
      const Branch& b = circuit.branches[i];
      const bool forward = b.a == node;
      const double drop_v = (point_.node_v[b.a] - point_.node_v[b.b]) * (forward ? 1 : -1);
      node = forward ? b.b : b.a;
      if (!add(b, drop_v)) fixed_v_ += drop_v;
    }
    return true;
  }

  std::vector<Budget::Term> terms_;
  double fixed_v_ = 0;  // over what is not free

 private:
  bool add(const Branch& b, double drop_v) {
    const Loom& loom = *corner_.loom;
    std::optional<std::size_t> value;
    std::vector<double> takes;
    if (b.type == BranchType::wire) {
      value = lookup_.wire(b.index);
      if (!value) return false;
      Wire wire = loom.wires[b.index];
      if (!wire.size || !wire.length) return false;
      for (const Option& o : ground_.values[*value].options) {
        wire.size->value = SquareMillimetre(o.amount);
        takes.push_back(drop_v / b.ohm * wire_resistance(wire, network_copper_temperature(loom, wire))->value);
      }
    } else if (b.type == BranchType::fuse) {
      const Fuse& fuse = loom.elements.fuses[b.index];
      value = lookup_.rating(fuse.part);
      if (!value || loom.part(fuse.part).find("resistance") || !fuse.rated_a) return false;
      for (const Option& o : ground_.values[*value].options) takes.push_back(drop_v * *fuse.rated_a / o.amount);
    } else {
      return false;
    }
    const double all_a = std::fabs(drop_v / b.ohm);
    const double own = all_a > 0 ? std::min(1.0, own_a_ / all_a) : 0;
    const double sure = own + (1 - own) * others_sure_;
    const auto same = std::find_if(terms_.begin(), terms_.end(), [&](const auto& t) { return t.value == *value; });
    if (same == terms_.end()) {
      terms_.push_back({*value, std::move(takes), sure});
    } else {
      same->sure = std::min(same->sure, sure);
      for (std::size_t o = 0; o < takes.size(); ++o) same->takes[o] += takes[o];
    }
    return true;
  }

  const Ground& ground_;
  const Lookup& lookup_;
  const Corner& corner_;
  const OperatingPoint& point_;
  double own_a_ = 0;
  double others_sure_ = 1;
};

}  // namespace

std::optional<Budget> budget_of(const Ground& ground, const Lookup& lookup, const Corner& corner,
                                const Obligation& owed) {
  if (!owed.figure || !owed.subject.part || owed.figure->used <= 0) return std::nullopt;
  const bool is_drop = owed.rule->slug == "voltage-drop";
  // Of supply-voltage only what is too low, and that it says in words alone.
  if (!is_drop && owed.what.find("' gets ") == std::string::npos) return std::nullopt;
  const auto floor = is_drop ? drop_floor(corner, owed, ground.margin) : voltage_floor(corner, owed, ground.margin);
  if (!floor) return std::nullopt;
  const Circuit& circuit = corner.solved.circuit;
  const OperatingPoint& point = corner.solved.points[floor->point];
  const std::vector<SupplyPoles> supplies = supply_poles(circuit);
  const SupplyPoles* supply = supply_of(supplies, circuit, point, *floor);
  if (!supply) return std::nullopt;
  Way way(ground, lookup, corner, *floor);
  if (!way.walk(supply->pos, circuit.node(floor->pos)) || !way.walk(circuit.node(floor->neg), supply->neg)) {
    return std::nullopt;
  }
  if (way.terms_.empty()) return std::nullopt;
  Budget budget;
  budget.terms = std::move(way.terms_);
  budget.most = point.node_v[supply->pos] - point.node_v[supply->neg] - floor->least_v - way.fixed_v_;
  budget.why = {owed.what, owed.subject.at, std::string(owed.rule->slug)};
  if (budget.why.text.empty()) {
    budget.why.text = fmt::format("'{}' is within {} of its limit of {}: {}", owed.subject.name,
                                  fmt::format("{:.0f} %", ground.margin * 100), owed.figure->limit, owed.figure->value);
  }
  return budget;
}

}  // namespace loomproof
