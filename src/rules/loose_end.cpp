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
      const int needed = kind.is_frame ? 1 : 2;
      if (wires >= needed) {
        owed.holds("wired");
      } else {
        owed.broken(fmt::format("'{}' joins {} wire{}", part.name, wires, wires == 1 ? "" : "s"))
            .fix("end the wire where it is meant to go, or drop the part");
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
      owed.broken(fmt::format("no wire lands on {}", bare)).fix("wire it, or drop the part");
    }
  }
}

// A connector pin with a wire on one side only.
std::optional<TerminalIndex> other_side(const Loom& loom, TerminalIndex t) {
  for (const Contact& c : loom.elements.contacts) {
    if (c.operated) continue;
    if (c.a == t) return c.b;
    if (c.b == t) return c.a;
  }
  return std::nullopt;
}

void judge_wires(const Rule& rule, const Loom& loom, const std::vector<int>& count, Ledger& ledger) {
  for (std::size_t w = 0; w < loom.wires.size(); ++w) {
    const Wire& wire = loom.wires[w];
    Obligation& owed = ledger.open(rule, subject_of(loom, WireIndex{w}));
    if (wire.from == wire.to) {
      owed.broken(fmt::format("'{}' begins and ends at '{}'", wire.name, loom.title(wire.from)))
          .fix("give it the other end that it is meant for");
      continue;
    }
    owed.holds("both ends go on");
    for (const auto& [end, at] : {std::pair(wire.from, wire.from_at), std::pair(wire.to, wire.to_at)}) {
      const Part& part = loom.part(loom.terminal(end).part);
      const bool pin = !loom.kind_of(part).repeat.empty() && loom.kind_of(part).symbol == "connector";
      if (!pin) continue;
      const auto beyond = other_side(loom, end);
      if (beyond && count[beyond->value] > 0) continue;
      owed.broken(fmt::format("'{}' ends at '{}' and nothing goes on from there", wire.name, loom.title(end)))
          .see(at, "this end")
          .fix("wire the other side of the pin, or take the wire out");
    }
  }
}

void judge(const Rule& rule, const Solved& solved, Ledger& ledger) {
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
    .judge = judge,
};

}  // namespace loomproof
