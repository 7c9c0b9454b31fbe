// mixed-bundle: above 60 V d.c. no bundle holds traction and low-voltage wires together.
//
// Student-contest rules (read); common practice. docs/rules/mixed-bundle.md
#include <algorithm>

#include "rules/list.h"
#include "rules/subject.h"
#include "rules/voltage_class.h"
#include "units/print.h"

namespace loomproof {
namespace {

void judge_mixed_bundle(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const double full_v = cable_class_v(solved);
  if (full_v <= class_a_v) return;
  // A return that is tied to the frame has the low voltage's zone and may be a traction lead all the same: neither.
  const std::vector<int> piece = components(solved.graph, solved.circuit, [&](const Branch& x) {
    return is_conductor(solved.circuit, x) && !is_tie(loom, x);
  });
  std::vector<char> at_pole(solved.circuit.nodes, 0);
  for (const Source& s : loom.elements.sources) {
    if (s.zone != Zone::traction) continue;
    at_pole[piece[solved.circuit.node(s.pos)]] = at_pole[piece[solved.circuit.node(s.neg)]] = 1;
  }
  for (std::size_t b = 0; b < loom.bundles.size(); ++b) {
    std::vector<WireIndex> traction, other;
    for (std::size_t w = 0; w < loom.wires.size(); ++w) {
      const Wire& wire = loom.wires[w];
      if (std::find(wire.bundles.begin(), wire.bundles.end(), BundleIndex{b}) == wire.bundles.end()) continue;
      const bool high = solved.zone[wire.from.value] == Zone::traction || solved.zone[wire.to.value] == Zone::traction;
      if (high) traction.push_back(WireIndex{w});
      if (!high && at_pole[piece[solved.circuit.node(wire.from)]] == 0) other.push_back(WireIndex{w});
    }
    if (traction.empty()) continue;
    const Bundle& bundle = loom.bundles[b];
    Obligation& owed = ledger.open(rule, {bundle.name, bundle.at, std::nullopt, std::nullopt});
    if (other.empty()) {
      owed.holds("traction wires only");
      continue;
    }
    std::string names;
    for (WireIndex w : other) names += (names.empty() ? "'" : ", '") + loom.wire(w).name + "'";
    owed.broken(fmt::format("bundle '{}' holds {} of {} and {}", bundle.name,
                            traction.size() > 1 ? "traction wires" : "a traction wire", show(Volt(full_v)), names),
                Figure{fmt::format("{} wires", other.size()), "0 wires", 1e6})
        .note("one chafed spot puts the pack on switches, lamps and the frame")
        .see(loom.wire(traction.front()).at, "a traction wire of it")
        .fix("a run of its own for the low voltage, or for traction");
  }
}

}  // namespace

const Rule mixed_bundle{
    .slug = "mixed-bundle",
    .group = Group::insulation,
    .severity = Severity::danger,
    .promise = "Above 60 V d.c. no bundle holds traction and low-voltage wires together.",
    .judge = judge_mixed_bundle,
};

}  // namespace loomproof
