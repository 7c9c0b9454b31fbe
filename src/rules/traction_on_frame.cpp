// traction-on-frame: above 60 V d.c. nothing ties the traction circuit to the frame.
//
// 60 V d.c. and 100 ohm/V: UN R100 and R136, FMVSS 305 (tests/reference/voltage_class_limits.csv).
// docs/rules/traction-on-frame.md
#include <algorithm>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/supply.h"
#include "units/print.h"

namespace loomproof {
namespace {

constexpr double class_a_v = 60;
constexpr double ohm_per_volt = 100;

// A part whose isolation decides, and of which the file says nothing.
std::optional<PartIndex> unknown_isolation(const Solved& solved) {
  const Loom& loom = *solved.loom;
  for (std::size_t p = 0; p < loom.parts.size(); ++p) {
    const Part& part = loom.parts[p];
    if (loom.kind_of(part).find_attribute("isolated") == nullptr || part.find("isolated") != nullptr) continue;
    return PartIndex{p};
  }
  return std::nullopt;
}

void judge(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Circuit& circuit = solved.circuit;
  const double full_v = traction_full_v(circuit);
  for (std::size_t p = 0; p < loom.parts.size(); ++p) {
    if (!loom.kind_of(loom.parts[p]).is_frame) continue;
    Obligation& owed = ledger.open(rule, subject_of(loom, PartIndex{p}));
    if (full_v <= class_a_v) {
      owed.holds(Figure{show(Volt(full_v)), show(Volt(class_a_v)), full_v / class_a_v}, "full pack");
      continue;
    }
    if (const auto part = unknown_isolation(solved)) {
      owed.undecided(
          fmt::format("whether '{}' ties the traction circuit to the frame is not given", loom.part(*part).name),
          fmt::format("write `isolated: true` or `isolated: false` in part '{}'", loom.part(*part).name));
      continue;
    }
    if (loom.parts[p].terminals.empty()) {
      owed.holds("nothing lands on it");
      continue;
    }
    const int frame = circuit.node(loom.parts[p].terminals.front());
    const BranchFilter anything = [](const Branch& b) {
      return b.type != BranchType::converter_in && b.type != BranchType::converter_out;
    };
    owed.holds("no path from the traction circuit");
    for (const Source& s : loom.elements.sources) {
      if (s.zone != Zone::traction) continue;
      const auto walk = walk_between(solved.graph, circuit, frame, circuit.node(s.neg), anything);
      if (walk.empty() && frame != circuit.node(s.neg)) continue;
      double ohm = 0;
      for (std::size_t i : walk) ohm += circuit.branches[i].ohm;
      const double least = ohm_per_volt * full_v;
      const Figure figure{show(Ohm(ohm)), show(Ohm(least)), used_of_floor(ohm, least)};
      if (ohm >= least) {
        owed.holds(figure, "full pack");
        continue;
      }
      owed.broken(fmt::format("'{}' is tied to the traction circuit of {} through {}", owed.subject.name,
                              show(Volt(full_v)), figure.value),
                  figure, "full pack");
      std::string way;
      for (std::size_t i : walk) {
        const Branch& b = circuit.branches[i];
        if (b.type == BranchType::wire) way += (way.empty() ? "" : " -> ") + loom.wires[b.index].name;
      }
      if (!way.empty()) owed.note("by way of " + way);
      owed.fix("take the bond out, and use converters and inputs that are isolated from the pack");
      break;
    }
  }
}

}  // namespace

const Rule traction_on_frame{
    .slug = "traction-on-frame",
    .group = Group::insulation,
    .severity = Severity::danger,
    .promise = "Above 60 V d.c. nothing ties the traction circuit to the frame.",
    .judge = judge,
};

}  // namespace loomproof
