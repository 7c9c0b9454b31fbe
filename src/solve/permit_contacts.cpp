// What stops when a contact of a battery management opens.
#include "solve/permit_contacts.h"

#include <algorithm>
#include <cmath>

namespace loomproof {
namespace {

// Current from which a charger counts as charging: far above what rounding leaves, far below any charger's.
constexpr double charging_a = 1e-3;

// Nodes that the condition looks at itself; the first is enough to know the circuit.
std::optional<TerminalIndex> watched_by(const Condition& condition) {
  if (condition.op == Condition::Op::powered) return condition.pos;
  for (const Condition& inner : condition.of) {
    if (const auto found = watched_by(inner)) return found;
  }
  return std::nullopt;
}

bool gives_torque(const Elements& all, const OperatingPoint& point, PartIndex part) {
  for (std::size_t o = 0; o < all.outputs.size(); ++o) {
    if (all.outputs[o].part == part && all.outputs[o].name == "torque" && point.logic.output_on[o] != 0) return true;
  }
  return false;
}

}  // namespace

PermitContacts::PermitContacts(const Solved& solved)
    : solved_(solved), conductors_(solved.circuit, true), network_(solved.circuit, true) {}

int PermitContacts::island_watched(std::size_t contact) const {
  const auto watched = watched_by(solved_.loom->elements.contacts[contact].closed_when);
  return watched ? solved_.circuit.island_of[solved_.circuit.node(*watched)] : -1;
}

// What hangs on another pack is none of this battery management's business.
bool PermitContacts::runs(const OperatingPoint& point, Runs what, int island) {
  const Elements& all = solved_.loom->elements;
  const Circuit& circuit = solved_.circuit;
  const auto own = [&](TerminalIndex t) { return island < 0 || circuit.island_of[circuit.node(t)] == island; };
  if (what == Runs::drive) {
    return std::any_of(all.loads.begin(), all.loads.end(), [&](const Load& load) {
      return !load.channel.empty() && own(load.pos) && gives_torque(all, point, load.part) &&
             is_fed(conductors_, circuit, point.logic, load.pos, load.neg);
    });
  }
  bool gives = false, takes = false;
  for (std::size_t s = 0; s < all.sources.size(); ++s) {
    const Source& source = all.sources[s];
    if (source.zone != Zone::traction || !own(source.pos)) continue;
    if (source.sinks) takes |= point.source_a[s] < -charging_a;
    if (!source.sinks) gives |= point.logic.source_on[s] != 0 && point.source_a[s] > charging_a;
  }
  return gives && takes;
}

OpenedPermit PermitContacts::open(std::size_t contact, Runs what) {
  const int island = island_watched(contact);
  CircuitChange change;
  change.logic.contacts_open = {contact};
  network_.alter(change);
  OpenedPermit out;
  SettlingTrail running, resting, resting_before;  // of this situation, and of the one before it
  for (std::size_t p = 0; p < solved_.points.size(); ++p) {
    const OperatingPoint& before = solved_.points[p];
    if (before.situation.duty || !runs(before, what, island)) continue;
    out.ran = true;
    // While it runs a relay may hold itself, and from rest one may pull in that the contact kept out.
    std::swap(resting, resting_before);
    const OperatingPoint on = network_.settle_from(before, before.situation, nullptr, &running);
    const auto from_rest = network_.settle_rest_after(before.situation, running, &resting_before, &resting);
    for (const OperatingPoint* then : {&on, from_rest ? &*from_rest : nullptr}) {
      if (then == nullptr) continue;  // ends as the first
      if (!then->trouble.empty()) {
        out.unsettled = p;
      } else if (runs(*then, what, island)) {
        out.still = p;
        return out;
      }
    }
  }
  return out;
}

std::optional<std::array<TerminalIndex, 2>> PermitContacts::crossed(std::size_t contact, std::size_t other, Runs what) {
  const Contact& mine = solved_.loom->elements.contacts[contact];
  const Contact& its = solved_.loom->elements.contacts[other];
  const int island = island_watched(contact);
  // Wires that change places at `a` and `swapped` come to the same as the two contacts leading there.
  for (const auto& [swapped, kept] : {std::pair(its.a, its.b), std::pair(its.b, its.a)}) {
    const auto node = [&](TerminalIndex t) { return solved_.circuit.node(t); };
    CircuitChange change;
    change.logic.contacts_open = {contact, other};
    change.bridges = {{node(swapped), node(mine.b)}, {node(mine.a), node(kept)}};
    network_.alter(change);
    for (const OperatingPoint& before : solved_.points) {
      if (before.situation.duty) continue;
      const OperatingPoint then = network_.settle_base(before.situation, nullptr, nullptr);
      if (then.trouble.empty() && runs(then, what, island)) return std::array{mine.a, swapped};
    }
  }
  return std::nullopt;
}

}  // namespace loomproof
