// loose-end: every wire ends where something goes on, and every terminal that must be wired is.
//
// docs/rules/loose-end.md
#include <algorithm>
#include <map>

#include "rules/list.h"
#include "rules/subject.h"

namespace loomproof {
namespace {

// Wires that land on each terminal; on a splice or a frame, on the part.
std::vector<int> landings(const Loom& loom) {
  std::vector<int> count(loom.terminals.size(), 0);
  for (const Wire& wire : loom.wires) {
    ++count[wire.from.value];
    ++count[wire.to.value];
  }
  return count;
}

void judge_parts(const Rule& rule, const Loom& loom, const std::vector<int>& count, Ledger& ledger) {
  for (std::size_t p = 0; p < loom.parts.size(); ++p) {
    const Part& part = loom.parts[p];
    const Kind& kind = loom.kind_of(part);
    Obligation& owed = ledger.open(rule, subject_of(loom, PartIndex{p}));
    if (kind.any_terminal) {
      int wires = 0;
      for (TerminalIndex t : part.terminals) wires += count[t.value];
      const int needed = kind.is_frame ? 0 : 2;  // a frame on which nothing lands is said to be there
      if (wires >= needed) {
        owed.holds("wired");
      } else {
        owed.broken(fmt::format("'{}' joins {} wire{}", part.name, wires, wires == 1 ? "" : "s"))
            .fix("end the wire where it is meant to go, or drop the part")
            .of_wiring();
      }
      continue;
    }
    std::string bare;
    for (TerminalIndex t : part.terminals) {
      const Terminal& terminal = loom.terminal(t);
      if (terminal.optional || terminal.inside || count[t.value] > 0) continue;
      bare += (bare.empty() ? "'" : ", '") + loom.title(t) + "'";
    }
    if (bare.empty()) {
      owed.holds("every terminal that must be wired is");
    } else {
      owed.broken(fmt::format("no wire lands on {}", bare)).fix("wire it, or drop the part").of_wiring();
    }
  }
}

// What each terminal belongs to inside its part, counted: a terminal of one contact only leads nowhere but through it.
std::vector<int> uses(const Loom& loom) {
  std::vector<int> count(loom.terminals.size(), 0);
  const auto use = [&](const auto&... terminals) { (++count[terminals.value], ...); };
  const Elements& all = loom.elements;
  for (const Source& x : all.sources) use(x.pos, x.neg);
  for (const Converter& x : all.converters) use(x.in_pos, x.in_neg, x.out_pos, x.out_neg);
  for (const Resistance& x : all.resistances) use(x.a, x.b);
  for (const Divider& x : all.dividers) use(x.top, x.tap, x.bottom);
  for (const Capacitance& x : all.capacitances) use(x.a, x.b);
  for (const Diode& x : all.diodes) use(x.anode, x.cathode);
  for (const Fuse& x : all.fuses) use(x.a, x.b);
  for (const Contact& x : all.contacts) use(x.a, x.b);
  for (const Coil& x : all.coils) use(x.a, x.b);
  for (const Load& x : all.loads) use(x.pos, x.neg);
  for (const Input& x : all.inputs) use(x.terminal, x.reference);
  for (const Lead& x : all.leads) use(x.terminal);
  return count;
}

// A wire that ends at one side of contacts whose other sides are all bare: a connector's pin, a charger's link.
// Sides that must be wired are left to judge_parts.
bool is_dead_end(const Loom& loom, TerminalIndex t, const std::vector<int>& landed, const std::vector<int>& used) {
  if (landed[t.value] > 1) return false;
  // A pin whose other side no wire mentions has no contact.
  bool is_contact = used[t.value] == 0 && loom.kind_of(loom.part(loom.terminal(t).part)).symbol == "connector";
  int contacts = 0;
  for (const Contact& c : loom.elements.contacts) {
    if (c.a != t && c.b != t) continue;
    ++contacts;
    const TerminalIndex beyond = c.a == t ? c.b : c.a;
    const Terminal& other = loom.terminal(beyond);
    const bool must_be_wired = !other.optional && !other.inside && c.operated;
    if (landed[beyond.value] > 0 || used[beyond.value] > 1 || must_be_wired) return false;
    is_contact = true;
  }
  return is_contact && contacts == used[t.value];
}

void judge_wires(const Rule& rule, const Loom& loom, const std::vector<int>& count, Ledger& ledger) {
  const std::vector<int> used = uses(loom);
  for (std::size_t w = 0; w < loom.wires.size(); ++w) {
    const Wire& wire = loom.wires[w];
    Obligation& owed = ledger.open(rule, subject_of(loom, WireIndex{w}));
    if (wire.from == wire.to) {
      owed.broken(fmt::format("'{}' begins and ends at '{}'", wire.name, loom.title(wire.from)))
          .fix("give it the other end that it is meant for")
          .of_wiring();
      continue;
    }
    owed.holds("both ends go on");
    for (const auto& [end, at] : {std::pair(wire.from, wire.from_at), std::pair(wire.to, wire.to_at)}) {
      if (!is_dead_end(loom, end, count, used)) continue;
      owed.broken(fmt::format("'{}' ends at '{}' and nothing goes on from there", wire.name, loom.title(end)))
          .see(at, "this end")
          .fix("wire the other side of it, or take the wire out")
          .of_wiring();
    }
  }
}

void judge_loose_end(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const std::vector<int> count = landings(*solved.loom);
  judge_parts(rule, *solved.loom, count, ledger);
  judge_wires(rule, *solved.loom, count, ledger);
}

}  // namespace

const Rule loose_end{
    .slug = "loose-end",
    .group = Group::terminations,
    .severity = Severity::nuisance,
    .promise = "Every wire ends where something goes on, and every terminal that must be wired is.",
    .judge = judge_loose_end,
};

}  // namespace loomproof
