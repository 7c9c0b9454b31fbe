// main-contactor: a contact that opens by itself when its coil loses power parts the motor controller from the pack.
//
// docs/rules/main-contactor.md
#include <algorithm>

#include "rules/list.h"
#include "rules/subject.h"

namespace loomproof {
namespace {

bool opens_by_coil(const Condition& c) {
  if (c.op == Condition::Op::coil) return true;
  if (c.op == Condition::Op::all) return std::any_of(c.of.begin(), c.of.end(), opens_by_coil);
  return false;
}

// Ends of the duty load of a part that turns current into phases.
std::vector<const Load*> drive_loads(const Loom& loom) {
  std::vector<const Load*> out;
  for (const Load& load : loom.elements.loads) {
    const bool drives = std::any_of(loom.elements.leads.begin(), loom.elements.leads.end(),
                                    [&](const Lead& lead) { return lead.gives && lead.part == load.part; });
    if (drives && !load.channel.empty()) out.push_back(&load);
  }
  return out;
}

void judge(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Circuit& circuit = solved.circuit;
  const BranchFilter without_coils = [&](const Branch& b) {
    if (b.type == BranchType::contact && opens_by_coil(loom.elements.contacts[b.index].closed_when)) return false;
    return is_conductor(circuit, b);
  };
  for (const Load* load : drive_loads(loom)) {
    Obligation& owed = ledger.open(rule, subject_of(loom, load->part));
    std::string fed_by;
    for (const Source& s : loom.elements.sources) {
      if (s.zone != Zone::traction || !s.sinks) continue;
      const auto there =
          walk_between(solved.graph, circuit, circuit.node(load->pos), circuit.node(s.pos), without_coils);
      const auto back =
          walk_between(solved.graph, circuit, circuit.node(load->neg), circuit.node(s.neg), without_coils);
      const bool pos_tied = !there.empty() || circuit.node(load->pos) == circuit.node(s.pos);
      const bool neg_tied = !back.empty() || circuit.node(load->neg) == circuit.node(s.neg);
      if (pos_tied && neg_tied) fed_by = loom.part(s.part).name;
    }
    if (fed_by.empty()) {
      owed.holds("parted from the pack when the coil drops out");
      continue;
    }
    owed.broken(fmt::format("nothing parts '{}' from '{}' when the key or a brake must", owed.subject.name, fed_by))
        .note("a controller that fails shorted keeps the pack across the motor, and only a contactor opens then")
        .fix("put a contactor between them whose coil the key and the emergency stop can open");
  }
}

}  // namespace

const Rule main_contactor{
    .slug = "main-contactor",
    .group = Group::control,
    .severity = Severity::danger,
    .promise = "A contactor that opens when its coil loses power parts the motor controller from the pack.",
    .judge = judge,
};

}  // namespace loomproof
