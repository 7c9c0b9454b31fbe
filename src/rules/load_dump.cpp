// load-dump: whatever shares the bus with a controller that regenerates stands the voltage to which it lets the bus
// rise.
//
// When a fuse, contactor or battery management parts the pack while the motor generates, the current goes on into the
// bus capacitors: dV/dt = I / C, up to where the controller stops by itself. docs/rules/load-dump.md
#include <algorithm>
#include <optional>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/pack_duty.h"
#include "units/print.h"

namespace loomproof {
namespace {

struct Bus {
  PartIndex part;
  int pos = 0, neg = 0;
  const Load* load = nullptr;
  double regen_a = 0;
};

std::string first_opener(const Solved& solved, const std::vector<PackPoles>& packs, const Bus& bus) {
  for (const PackPoles& pack : packs) {
    for (std::size_t i : walk_between(solved.graph, solved.circuit, bus.pos, pack.pos,
                                      [&](const Branch& b) { return is_conductor(solved.circuit, b); })) {
      const Branch& b = solved.circuit.branches[i];
      const Elements& all = solved.loom->elements;
      if (b.type == BranchType::fuse) return solved.loom->part(all.fuses[b.index].part).name;
      if (b.type == BranchType::contact && all.contacts[b.index].operated)
        return solved.loom->part(all.contacts[b.index].part).name;
    }
  }
  return {};
}

void judge_share(const Solved& solved, const Bus& bus, const Element& other, double stands_v, Place at, double rises_v,
                 const std::string& opener, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const Figure figure{show(Volt(rises_v)), show(Volt(stands_v)), used_of_ceiling(rises_v, stands_v)};
  if (figure.used <= 1) {
    owed.holds(figure, "regenerating, '" + opener + "' opens");
    return;
  }
  owed.broken(fmt::format("'{}' stands {} and shares the bus with '{}', which lets it rise to {}",
                          loom.part(other.part).name, figure.limit, loom.part(bus.part).name, figure.value),
              figure, "regenerating, '" + opener + "' opens");
  for (const Capacitance& c : loom.elements.capacitances) {
    if (c.part.value != bus.part.value || !c.farad || *c.farad <= 0) continue;
    owed.note(fmt::format("{} into {} raise the bus by {} in a millisecond", show(Ampere(bus.regen_a)),
                          show(Farad(*c.farad)), show(Volt(bus.regen_a / *c.farad * 1e-3))));
  }
  owed.see(at, "what it stands")
      .see(place_of(loom, *bus.load, bus.load->high_v), "where the controller stops by itself")
      .fix("a part that stands the controller's own limit, or one that hangs on the pack side of every opener");
}

void judge_bus(const Rule& rule, const Solved& solved, const std::vector<PackPoles>& packs, const Bus& bus,
               const std::vector<int>& joined, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Circuit& circuit = solved.circuit;
  const std::string opener = first_opener(solved, packs, bus);
  if (opener.empty()) return;  // nothing can part them
  if (!bus.load->high_v) {
    ledger.open(rule, subject_of(loom, bus.part))
        .undecided(fmt::format("'{}' regenerates, and the voltage at which it stops when '{}' opens is not given",
                               loom.part(bus.part).name, opener),
                   ask_for(loom, *bus.load, bus.load->high_v, "36 V to 75 V"));
    return;
  }
  const double rises_v = *bus.load->high_v;
  bool shared = false;
  const auto across = [&](TerminalIndex pos, TerminalIndex neg) {
    return joined[circuit.node(pos)] == joined[bus.pos] && joined[circuit.node(neg)] == joined[bus.neg];
  };
  const auto share = [&](const Element& e, const Datum& high_v) {
    if (!high_v || e.part.value == bus.part.value) return;  // supply-voltage asks for it
    shared = true;
    judge_share(solved, bus, e, *high_v, place_of(loom, e, high_v), rises_v, opener,
                ledger.open(rule, subject_of(loom, e.part)));
  };
  for (const Converter& c : loom.elements.converters) {
    if (across(c.in_pos, c.in_neg)) share(c, c.high_v);
  }
  for (std::size_t i = 0; i < loom.elements.loads.size(); ++i) {
    const Load& load = loom.elements.loads[i];
    // What stands too much as it is belongs to supply-voltage.
    if (load.high_v && solved.extremes.load_high_v[i].value > *load.high_v) continue;
    if (across(load.pos, load.neg)) share(load, load.high_v);
  }
  if (!shared) {
    ledger.open(rule, subject_of(loom, bus.part)).holds("nothing else hangs on its bus when '" + opener + "' opens");
  }
}

void judge_load_dump(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const auto packs = packs_of(solved.circuit);
  const auto joined = joined_without_diodes(solved.circuit, solved.graph);
  for (const Load& load : loom.elements.loads) {
    if (load.channel.empty()) continue;
    const auto limit_a = loom.part(load.part).number("regen_limit");
    double regen_a = limit_a.value_or(0);
    for (const DutyPoint& duty : loom.duty) {
      for (const ChannelCurrent& c : duty.currents) {
        if (c.part.value == load.part.value && c.channel == load.channel) regen_a = std::max(regen_a, -c.amps.value);
      }
    }
    if (regen_a <= 0) continue;
    judge_bus(rule, solved, packs,
              {load.part, solved.circuit.node(load.pos), solved.circuit.node(load.neg), &load, regen_a}, joined,
              ledger);
  }
}

}  // namespace

const Rule load_dump{
    .slug = "load-dump",
    .group = Group::source,
    .severity = Severity::damage,
    .promise = "Whatever shares the bus with a controller that regenerates stands the voltage to which it can rise.",
    .judge = judge_load_dump,
};

}  // namespace loomproof
