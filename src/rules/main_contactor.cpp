// main-contactor: a contact that opens by itself when its coil loses power parts the motor controller from the pack.
//
// docs/rules/main-contactor.md
#include <algorithm>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/supply_rows.h"

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

bool is_pack(const Loom& loom, PartIndex part) {
  return std::any_of(loom.elements.sources.begin(), loom.elements.sources.end(),
                     [&](const Source& s) { return s.part == part && s.zone == Zone::traction && s.sinks; });
}

// Whether what passes leads from the load to both ends of the row, and from each of its packs to the next.
bool is_tied(const Solved& solved, const Load& load, const SupplyRow& row, const BranchFilter& passes) {
  const Circuit& circuit = solved.circuit;
  const std::vector<int> piece = components(solved.graph, circuit, passes);
  return piece[circuit.node(load.pos)] == piece[row.pos] && piece[circuit.node(load.neg)] == piece[row.neg] &&
         std::all_of(row.links.begin(), row.links.end(),
                     [&](const auto& link) { return piece[link.first] == piece[link.second]; });
}

// Whether somebody opens it: a settled point in which nothing but contacts with a coil keeps the pack from the load.
bool is_ever_opened(const Solved& solved, const Load& load, const SupplyRow& row) {
  const Circuit& circuit = solved.circuit;
  const auto tied = [&](const BranchFilter& passes) { return is_tied(solved, load, row, passes); };
  std::vector<std::uint8_t> last;  // most points differ in lamps only
  for (const OperatingPoint& p : solved.points) {
    if (p.situation.duty || p.logic.contact_closed == last) continue;
    last = p.logic.contact_closed;
    const bool but_for_coils = tied([&](const Branch& b) {
      if (b.type == BranchType::contact && p.logic.contact_closed[b.index] == 0 &&
          !opens_by_coil(solved.loom->elements.contacts[b.index].closed_when)) {
        return false;
      }
      return is_conductor(circuit, b);
    });
    if (but_for_coils && !tied([&](const Branch& b) {
          return is_conductor(circuit, b) && (b.type != BranchType::contact || p.logic.contact_closed[b.index] != 0);
        })) {
      return true;
    }
  }
  return false;
}

void judge_main_contactor(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Circuit& circuit = solved.circuit;
  const BranchFilter without_coils = [&](const Branch& b) {
    if (b.type == BranchType::contact && opens_by_coil(loom.elements.contacts[b.index].closed_when)) return false;
    return is_conductor(circuit, b);
  };
  const std::vector<SupplyRow> rows = supply_rows(circuit, solved.points);
  for (const Load* load : drive_loads(loom)) {
    Obligation& owed = ledger.open(rule, subject_of(loom, load->part));
    std::string fed_by, never_opened_from;
    const BranchFilter conductor = [&](const Branch& b) { return is_conductor(circuit, b); };
    for (const SupplyRow& row : rows) {
      const bool packs =
          std::all_of(row.parts.begin(), row.parts.end(), [&](PartIndex part) { return is_pack(loom, part); });
      if (!packs || !is_tied(solved, *load, row, conductor)) continue;
      if (is_tied(solved, *load, row, without_coils)) {
        fed_by = row.names(loom);
      } else if (!is_ever_opened(solved, *load, row)) {
        never_opened_from = row.names(loom);
      }
    }
    if (fed_by.empty() && !never_opened_from.empty()) {
      owed.broken(fmt::format("nothing ever switches off the coil that parts '{}' from {}", owed.subject.name,
                              never_opened_from))
          .note("in no position of any switch is the contactor open while the pack is there")
          .fix("feed the coil through the key and the emergency stop");
      continue;
    }
    if (fed_by.empty()) {
      owed.holds("parted from the pack when the coil drops out");
      continue;
    }
    owed.broken(fmt::format("nothing parts '{}' from {} when the key or a brake must", owed.subject.name, fed_by))
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
    .judge = judge_main_contactor,
};

}  // namespace loomproof
