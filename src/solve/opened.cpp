// Opens contacts, one at a time, and looks at what is left.
#include "solve/opened.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "solve/beside.h"
#include "solve/network.h"
#include "solve/supply.h"
#include "solve/usable_cores.h"

namespace loomproof {
namespace {

constexpr std::size_t worth_a_thread = 32;  // contacts

const Branch* branch_of(const Circuit& circuit, std::size_t contact) {
  for (const Branch& b : circuit.branches) {
    if (b.type == BranchType::contact && b.index == contact) return &b;
  }
  return nullptr;
}

std::vector<const Branch*> branches_by_contact(const Circuit& circuit) {
  std::vector<const Branch*> out(circuit.loom->elements.contacts.size(), nullptr);
  for (const Branch& b : circuit.branches) {
    if (b.type == BranchType::contact) out[b.index] = &b;
  }
  return out;
}

void keep_larger(Extreme& e, double value, std::size_t point) {
  if (!e.point || value > e.value) e = {value, point};
}

bool any_of_ops(const Condition& c, bool (*test)(Condition::Op)) {
  return test(c.op) || std::any_of(c.of.begin(), c.of.end(), [&](const Condition& x) { return any_of_ops(x, test); });
}

// The point with the same switches, a full pack and no duty, in which the contact is closed too; else `point` itself.
std::size_t at_full_charge(const Solved& solved, std::size_t contact, std::size_t point) {
  for (std::size_t p = 0; p < solved.points.size(); ++p) {
    const OperatingPoint& full = solved.points[p];
    if (full.situation.charge == Charge::full && !full.situation.duty && full.logic.contact_closed[contact] != 0 &&
        full.situation.positions == solved.points[point].situation.positions)
      return p;
  }
  return point;
}

}  // namespace

bool closed_by_coil(const Condition& c) {
  return any_of_ops(c, [](Condition::Op op) { return op == Condition::Op::coil; });
}

bool closed_by_logic(const Condition& c) {
  return any_of_ops(c, [](Condition::Op op) {
    return op == Condition::Op::input || op == Condition::Op::output || op == Condition::Op::powered;
  });
}

bool moves_by_hand(const Condition& c) {
  return any_of_ops(c, [](Condition::Op op) { return op == Condition::Op::position; });
}

namespace {

// Loads whose part drives a lead (a motor phase) through this contact alone: their channels.
std::vector<std::size_t> channels_through(const Solved& solved, const Branch& contact, const OperatingPoint& point) {
  const Circuit& circuit = solved.circuit;
  std::vector<std::size_t> out;
  for (std::size_t p = 0; p < circuit.lead_pairs.size(); ++p) {
    const LeadPair& pair = circuit.lead_pairs[p];
    if (circuit.island_of[pair.from] != circuit.island_of[contact.a] || !takes_current(circuit, point, p)) continue;
    const auto conducts = [&](const Branch& b) {
      if (b.type == BranchType::contact && (b.index == contact.index || point.logic.contact_closed[b.index] == 0))
        return false;
      return is_conductor(circuit, b);
    };
    if (reached(solved.graph, circuit, pair.from, conducts)[pair.to] != 0) continue;
    const auto& loads = solved.loom->elements.loads;
    for (std::size_t i = 0; i < loads.size(); ++i) {
      if (loads[i].part == pair.part && !loads[i].channel.empty()) out.push_back(i);
    }
  }
  return out;
}

// How points settle with every contact as it is: what is followed when one of them is held open.
using Trails = std::map<std::size_t, SettlingTrail>;

// What stands across one contact once it is held open where the largest current flows through it.
void open_contact(const Solved& solved, Network& network, Trails& trails, std::size_t i, const Branch& branch,
                  Extreme& out) {
  const Elements& all = solved.loom->elements;
  const std::size_t at = *solved.extremes.contact_a[i].point;
  const OperatingPoint& point = solved.points[at];
  Situation situation = point.situation;
  situation.charge = Charge::full;
  situation.duty.reset();
  const auto [trail, fresh] = trails.try_emplace(at);
  if (fresh) {
    network.alter({});
    network.settle_from(point, situation, nullptr, &trail->second);
  }
  CircuitChange held_open;
  held_open.logic.contacts_open.push_back(i);
  network.alter(held_open);
  const OperatingPoint after = network.settle_from(point, situation, &trail->second);
  if (after.trouble.empty() && after.piece[branch.a] == after.piece[branch.b])
    keep_larger(out, std::fabs(after.node_v[branch.a] - after.node_v[branch.b]), at);
  // What it fed may float once it is open, as a converter's input does: what it had stands across the contact then,
  // most with a full pack, also where the largest current flows with an empty one.
  for (const std::size_t p : {at, at_full_charge(solved, i, at)}) {
    const OperatingPoint& fed_at = solved.points[p];
    if (fed_at.logic.contact_closed[i] == 0) continue;
    const Downstream fed = downstream_of(solved, branch, fed_at);
    const auto had = [&](TerminalIndex pos, TerminalIndex neg) {
      if (const auto v = voltage(solved.circuit, fed_at, pos, neg)) keep_larger(out, std::fabs(v->value), p);
    };
    for (std::size_t k : fed.loads) had(all.loads[k].pos, all.loads[k].neg);
    for (std::size_t k : fed.converters) had(all.converters[k].in_pos, all.converters[k].in_neg);
    for (std::size_t k : fed.coils) had(all.coils[k].a, all.coils[k].b);
    // A phase that opens under drive has the bus of its controller across it at the least.
    for (const std::size_t k : channels_through(solved, branch, fed_at)) had(all.loads[k].pos, all.loads[k].neg);
  }
}

}  // namespace

std::vector<Extreme> open_contact_voltages(const Solved& solved) {
  std::vector<Extreme> out = solved.extremes.contact_v;
  const Circuit& circuit = solved.circuit;
  const std::vector<const Branch*> branches = branches_by_contact(circuit);
  // Each contact by itself, whoever opens it.
  const std::size_t workers = std::clamp<std::size_t>(branches.size() / worth_a_thread, 1, usable_cores());
  share_out(branches.size(), workers, [&] {
    return [&, network = Network(circuit, true), trails = Trails()](std::size_t i) mutable {
      if (solved.extremes.contact_a[i] && branches[i] != nullptr)
        open_contact(solved, network, trails, i, *branches[i], out[i]);
    };
  });
  for (const auto& [closing, situations, runs] : solved.chargings) {
    const Extreme& closed = solved.extremes.contact_a[closing.contact];
    if (closed) keep_larger(out[closing.contact], closing.source_v, *closed.point);
    // So do the contacts of the precharge, before they close.
    for (std::size_t b : closing.around) {
      const Branch& branch = circuit.branches[b];
      if (branch.type != BranchType::contact) continue;
      const Extreme& own = solved.extremes.contact_a[branch.index];
      if (own) keep_larger(out[branch.index], closing.source_v, *own.point);
    }
  }
  return out;
}

Downstream downstream_of(const Solved& solved, std::size_t contact, const OperatingPoint& point) {
  const Branch* branch = branch_of(solved.circuit, contact);
  if (branch == nullptr || point.logic.contact_closed[contact] == 0) return {};
  return downstream_of(solved, *branch, point);
}

Downstream downstream_of(const Solved& solved, const Branch& parting, const OperatingPoint& point) {
  const Circuit& circuit = solved.circuit;
  const Elements& all = solved.loom->elements;
  const auto conducts = [&](const Branch& b) {
    if (b.type == parting.type && b.index == parting.index) return false;
    if (b.type == BranchType::contact && point.logic.contact_closed[b.index] == 0) return false;
    return is_conductor(circuit, b);
  };
  // What the contact joins falls into the part on its one side and that on its other, unless they hang together anyway.
  auto side = smaller_side(solved.graph, circuit, parting.a, parting.b, conducts);
  if (!side) return {};
  std::vector<char> is_pole(circuit.nodes, 0);
  for (const SupplyPoles& s : supply_poles(circuit)) is_pole[s.pos] = is_pole[s.neg] = 1;
  const int other = side->of == parting.a ? parting.b : parting.a;
  bool feeds_side = false;
  for (std::size_t n = 0; n < is_pole.size(); ++n) feeds_side |= is_pole[n] != 0 && side->nodes[n] != 0;
  if (feeds_side == reaches_any(solved.graph, circuit, other, conducts, is_pole)) return {};
  const std::vector<char> dead = feeds_side ? reached(solved.graph, circuit, other, conducts) : std::move(side->nodes);
  const auto cut_off = [&](TerminalIndex t) { return dead[circuit.node(t)] != 0; };
  Downstream out;
  for (std::size_t i = 0; i < all.loads.size(); ++i) {
    if (cut_off(all.loads[i].pos) || cut_off(all.loads[i].neg)) out.loads.push_back(i);
  }
  for (std::size_t i = 0; i < all.converters.size(); ++i) {
    if (cut_off(all.converters[i].in_pos) || cut_off(all.converters[i].in_neg)) out.converters.push_back(i);
  }
  for (std::size_t i = 0; i < all.coils.size(); ++i) {
    if (cut_off(all.coils[i].a) || cut_off(all.coils[i].b)) out.coils.push_back(i);
  }
  return out;
}

Extreme most_at_rest(const Solved& solved, std::size_t contact) {
  Extreme most;
  const Branch* branch = branch_of(solved.circuit, contact);
  if (branch == nullptr) return most;
  for (std::size_t p = 0; p < solved.points.size(); ++p) {
    const OperatingPoint& point = solved.points[p];
    if (point.situation.duty || point.logic.contact_closed[contact] == 0) continue;
    keep_larger(most, std::fabs(branch_current_a(solved.circuit, point, *branch)), p);
  }
  return most;
}

}  // namespace loomproof
