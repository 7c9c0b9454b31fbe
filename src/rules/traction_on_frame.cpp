// traction-on-frame: above 60 V d.c. nothing ties the traction circuit to the frame.
//
// 60 V d.c. and 100 ohm/V: UN R100 and R136, FMVSS 305 (tests/reference/voltage_class_limits.csv).
// docs/rules/traction-on-frame.md
#include <algorithm>
#include <limits>

#include "rules/list.h"
#include "rules/subject.h"
#include "rules/voltage_class.h"
#include "solve/supply.h"
#include "units/print.h"

namespace loomproof {
namespace {

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

struct FramePath {
  double ohm = 0;
  std::vector<std::size_t> branches;  // from the frame on
};

// The path of least resistance, whatever it leads through: consumers and open contacts tie as well. Converters do not:
// where their sides are tied, a resistance says so.
std::optional<FramePath> least_path(const Circuit& circuit, int from, int to) {
  constexpr double endless = std::numeric_limits<double>::infinity();
  const std::size_t none = circuit.branches.size();
  std::vector<double> ohm(circuit.nodes, endless);
  std::vector<std::size_t> came_by(circuit.nodes, none);
  ohm[from] = 0;
  for (bool moved = true; moved;) {
    moved = false;
    for (std::size_t i = 0; i < none; ++i) {
      const Branch& b = circuit.branches[i];
      if (b.type == BranchType::converter_in || b.type == BranchType::converter_out) continue;
      for (const auto& [near, far] : {std::pair(b.a, b.b), std::pair(b.b, b.a)}) {
        if (ohm[near] + b.ohm >= ohm[far]) continue;
        ohm[far] = ohm[near] + b.ohm;
        came_by[far] = i;
        moved = true;
      }
    }
  }
  if (ohm[to] == endless) return std::nullopt;
  FramePath path{ohm[to], {}};
  for (int at = to; at != from;) {
    const std::size_t by = came_by[at];
    path.branches.push_back(by);
    at = circuit.branches[by].a == at ? circuit.branches[by].b : circuit.branches[by].a;
  }
  std::reverse(path.branches.begin(), path.branches.end());
  return path;
}

// Without a frame in the file nobody knows what touches it.
void judge_without_frame(const Rule& rule, const Solved& solved, double full_v, Ledger& ledger) {
  for (const SupplyPoles& supply : supply_poles(solved.circuit)) {
    const auto& sources = solved.loom->elements.sources;
    const bool traction = std::any_of(sources.begin(), sources.end(), [&](const Source& s) {
      return s.part == supply.part && s.zone == Zone::traction && s.sinks;
    });
    if (!traction) continue;
    ledger.open(rule, subject_of(*solved.loom, supply.part))
        .undecided(
            fmt::format("{} and the file has no frame: whether the traction circuit touches it is not known",
                        show(Volt(full_v))),
            "write a part `frame: {is: frame}` and every wire that lands on it (or the part alone, if none does)");
  }
}

void judge_traction_on_frame(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Circuit& circuit = solved.circuit;
  const double full_v = highest_traction_v(solved);
  const bool framed =
      std::any_of(loom.parts.begin(), loom.parts.end(), [&](const Part& p) { return loom.kind_of(p).is_frame; });
  if (!framed && traction_full_v(circuit) > class_a_v)
    judge_without_frame(rule, solved, traction_full_v(circuit), ledger);
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
    owed.holds("no path from the traction circuit");
    for (const Source& s : loom.elements.sources) {
      if (s.zone != Zone::traction) continue;
      const auto path = least_path(circuit, frame, circuit.node(s.neg));
      if (!path) continue;
      const double ohm = path->ohm;
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
      for (std::size_t i : path->branches) {
        const Branch& b = circuit.branches[i];
        if (b.type == BranchType::wire) way += (way.empty() ? "" : " -> ") + loom.wires[b.index].name;
      }
      if (!way.empty()) owed.note("by way of " + way);
      owed.fix("take the bond out, and use converters and inputs that are isolated from the pack");
      owed.of_wiring();
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
    .judge = judge_traction_on_frame,
};

}  // namespace loomproof
