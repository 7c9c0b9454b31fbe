// unfused-source-lead: no conductor runs on from a source without a device where a short can close the loop.
//
// Judged by loops: the leads of one pole are harmless as long as the other pole's end at a device within the length
// allowed (33 CFR 183.455(b), ABYC E-11). docs/rules/unfused-source-lead.md
#include <algorithm>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/supply.h"
#include "units/print.h"

namespace loomproof {
namespace {

// A device at the wrong end: one on which some wire of the lead lands.
std::optional<std::string> far_fuse(const Solved& solved, const BareLead& lead) {
  for (WireIndex w : lead.wires) {
    const Branch& wire = solved.circuit.branches[solved.circuit.wire_branch[w.value]];
    for (std::size_t i : solved.circuit.island_branches[wire.island]) {
      const Branch& b = solved.circuit.branches[i];
      if (b.type != BranchType::fuse) continue;
      // Fuses inside the source itself are those of its taps.
      if (solved.loom->elements.fuses[b.index].part == solved.loom->terminal(lead.pole).part) continue;
      if (b.a == wire.a || b.a == wire.b || b.b == wire.a || b.b == wire.b)
        return solved.loom->part(solved.loom->elements.fuses[b.index].part).name;
    }
  }
  return std::nullopt;
}

void judge_unfused_source_lead(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  std::vector<bool> told(loom.parts.size(), false);
  for (const BareLead& lead : solved.protection.bare_leads) {
    const PartIndex part = loom.terminal(lead.pole).part;
    told[part.value] = true;
    const Wire& first = loom.wire(lead.wires.front());
    Obligation& owed = ledger.open(rule, subject_of(loom, lead.wires.front()));
    if (std::any_of(lead.wires.begin(), lead.wires.end(), [&](WireIndex w) { return !loom.wire(w).length; })) {
      owed.undecided(
          fmt::format("'{}' runs from '{}' without a fuse over an unknown length", first.name, loom.title(lead.pole)),
          "write `length:` in it");
      continue;
    }
    owed.broken(fmt::format("{} of lead from '{}' has no fuse and {} is allowed", show(lead.length),
                            loom.title(lead.pole), show(lead.allowed)),
                Figure{show(lead.length), show(lead.allowed), lead.length / lead.allowed});
    owed.note("a chafe there meets the whole source, and nothing opens");
    if (const auto fuse = far_fuse(solved, lead))
      owed.note(fmt::format("'{}' at its far end protects what lies behind it, never this lead", *fuse));
    const Wire& other = loom.wire(lead.other_wire);
    owed.see(other.at, fmt::format("the other side of the loop, '{}' from '{}', has no device within its length either",
                                   other.name, loom.title(lead.other_pole)));
    if (lead.wires.size() > 1) owed.note(fmt::format("{} wires hang on it without a device", lead.wires.size()));
    owed.fix(fmt::format("put the fuse within {} of '{}' ({} where every lead runs in a sheath)",
                         show(bare_lead_allowed), loom.title(lead.pole), show(sheathed_lead_allowed)));
  }
  for (const SupplyPoles& supply : supply_poles(solved.circuit)) {
    if (told[supply.part.value]) continue;
    told[supply.part.value] = true;
    ledger.open(rule, subject_of(loom, supply.part)).holds("no loop without a device");
  }
}

}  // namespace

const Rule unfused_source_lead{
    .slug = "unfused-source-lead",
    .group = Group::protection,
    .severity = Severity::danger,
    .promise = "No conductor runs on from a source without a device where a short can close the loop.",
    .judge = judge_unfused_source_lead,
};

}  // namespace loomproof
