// In series: joined by points at which nothing else meets.
#include "size/floors.h"

#include <algorithm>

#include "rules/voltage_class.h"
#include "size/lookup.h"
#include "units/print.h"

namespace loomproof {
namespace {

// Below this a resistance is a bond, not a precharge resistor.
constexpr double least_ohm = 1;

std::vector<std::size_t> in_series(const Circuit& circuit, std::size_t start) {
  std::vector<std::vector<std::size_t>> at(static_cast<std::size_t>(circuit.nodes));
  for (std::size_t i = 0; i < circuit.branches.size(); ++i) {
    at[static_cast<std::size_t>(circuit.branches[i].a)].push_back(i);
    at[static_cast<std::size_t>(circuit.branches[i].b)].push_back(i);
  }
  std::vector<std::size_t> chain{start};
  for (const int end : {circuit.branches[start].a, circuit.branches[start].b}) {
    int node = end;
    std::size_t last = start;
    while (at[static_cast<std::size_t>(node)].size() == 2 && chain.size() < circuit.branches.size()) {
      const auto& two = at[static_cast<std::size_t>(node)];
      const std::size_t next = two[0] == last ? two[1] : two[0];
      if (next == start) break;
      chain.push_back(next);
      node = circuit.branches[next].a == node ? circuit.branches[next].b : circuit.branches[next].a;
      last = next;
    }
  }
  return chain;
}

std::size_t first_at_least(const Value& value, double amount) {
  const auto found = std::find_if(value.options.begin(), value.options.end(),
                                  [&](const Option& o) { return o.amount >= amount * (1 - 1e-9); });
  return static_cast<std::size_t>(found - value.options.begin());
}

}  // namespace

std::vector<Clause> precharge_floors(const Ground& ground, const Choice& now, const Corner& corner) {
  const Loom& loom = *corner.loom;
  const Circuit& circuit = corner.solved.circuit;
  const Lookup lookup(loom, ground.values);
  const double full_v = cable_class_v(corner.solved);
  double farad = 0;
  for (const Capacitance& c : loom.elements.capacitances) farad += c.farad.value.value_or(0);
  std::vector<Clause> out;
  for (std::size_t i = 0; i < circuit.branches.size(); ++i) {
    if (circuit.branches[i].type != BranchType::resistance) continue;
    const Resistance& resistance = loom.elements.resistances[circuit.branches[i].index];
    const Part& part = loom.part(resistance.part);
    if (part.kind != "resistor" || !resistance.ohm || *resistance.ohm < least_ohm) continue;
    const double ohm = *resistance.ohm;
    const auto floor = [&](std::optional<std::size_t> v, double amount, std::string text) {
      if (!v) return;
      const std::size_t least = first_at_least(ground.values[*v], amount);
      if (least > 0) out.push_back({{}, {{*v, least}}, {std::move(text), part.at, ""}});
    };
    floor(lookup.part(resistance.part, "watts"), full_v * full_v / ohm,
          fmt::format("'{}' ({}) heats with {} while {} stands across it", part.name, show(Ohm(ohm)),
                      show(Watt(full_v * full_v / ohm)), show(Volt(full_v))));
    floor(lookup.part(resistance.part, "pulse"), farad * full_v * full_v / 2,
          fmt::format("'{}' takes {} for one charge of {}", part.name, show(Joule(farad * full_v * full_v / 2)),
                      show(Farad(farad))));
    for (const std::size_t b : in_series(circuit, i)) {
      const Branch& branch = circuit.branches[b];
      std::optional<std::size_t> v;
      std::string name;
      if (branch.type == BranchType::fuse) {
        const PartIndex p = loom.elements.fuses[branch.index].part;
        v = lookup.rating(p);
        name = loom.part(p).name;
      } else if (branch.type == BranchType::contact) {
        const PartIndex p = loom.elements.contacts[branch.index].part;
        v = lookup.part(p, "carries");
        name = loom.part(p).name;
      }
      floor(v, full_v / ohm,
            fmt::format("'{}' carries the {} that '{}' ({}) lets through at first", name, show(Ampere(full_v / ohm)),
                        part.name, show(Ohm(ohm))));
    }
  }
  static_cast<void>(now);
  return out;
}

}  // namespace loomproof
