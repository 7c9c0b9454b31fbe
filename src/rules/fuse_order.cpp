// fuse-order: of two fuses in series the one nearer to the fault opens first.
//
// By the bands where they are apart, by IEC 60269-2 for gG, else by the middle of the bands. docs/rules/fuse-order.md
#include <algorithm>
#include <cmath>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/fuse_band.h"
#include "solve/supply.h"
#include "units/print.h"

namespace loomproof {
namespace {

constexpr int steps = 200;

double middle_s(const OpenerCurve& curve, double amps) {
  const double slow = slowest(curve, Ampere(amps)).value, fast = fastest(curve, Ampere(amps)).value;
  if (std::isinf(slow) || std::isinf(fast)) return INFINITY;
  return std::sqrt(slow * (fast > 0 ? fast : slow / 10));
}

// Largest of downstream over upstream middle time up to `most_a`.
Selectivity expected(const OpenerCurve& down, const OpenerCurve& up, double most_a) {
  Selectivity found{0, Ampere(most_a), slowest(down, Ampere(most_a)), fastest(up, Ampere(most_a))};
  const double from_a = std::min(down.rated.value, up.rated.value);
  for (int i = 0; i <= steps && most_a > from_a; ++i) {
    const double amps = from_a * std::pow(most_a / from_a, static_cast<double>(i) / steps);
    const double up_s = middle_s(up, amps);
    if (std::isinf(up_s)) continue;
    const double ratio = middle_s(down, amps) / up_s;
    if (ratio > found.ratio) {
      found = {ratio, Ampere(amps), Second(middle_s(down, amps)), Second(up_s)};
    }
  }
  return found;
}

// From every node the branch that leads towards a pole, fewest branches first; none at the pole and where no way leads.
std::vector<std::size_t> ways_to(const Solved& solved, const std::vector<std::vector<std::size_t>>& at_node, int pole) {
  const Circuit& circuit = solved.circuit;
  const std::size_t none = circuit.branches.size();
  std::vector<std::size_t> way(circuit.nodes, none);
  std::vector<int> reached{pole};
  for (std::size_t i = 0; i < reached.size(); ++i) {
    for (std::size_t branch : at_node[reached[i]]) {
      const Branch& b = circuit.branches[branch];
      const int beyond = b.a == reached[i] ? b.b : b.a;
      if (beyond == pole || way[beyond] != none) continue;
      way[beyond] = branch;
      reached.push_back(beyond);
    }
  }
  return way;
}

// By fuse: the fuses between it and the poles of its supplies, by index.
std::vector<std::vector<std::size_t>> upstream_fuses(const Solved& solved) {
  const Circuit& circuit = solved.circuit;
  const Elements& all = solved.loom->elements;
  std::vector<std::vector<std::size_t>> at_node(circuit.nodes);
  for (std::size_t i = 0; i < circuit.branches.size(); ++i) {
    const Branch& b = circuit.branches[i];
    if (b.a == b.b || !is_conductor(circuit, b) || is_tie(*solved.loom, b)) continue;
    at_node[b.a].push_back(i);
    at_node[b.b].push_back(i);
  }
  // A charger or converter that limits itself makes no fuse upstream of another, unless it is the only source there.
  const auto limits_itself = [&](const SupplyPoles& supply) {
    const auto endless = [&](const auto& x) { return x.part == supply.part && !x.limit_a; };
    return std::none_of(all.sources.begin(), all.sources.end(), endless) &&
           std::none_of(all.converters.begin(), all.converters.end(), endless);
  };
  const auto supplies = supply_poles(circuit);
  std::vector<char> strong(circuit.island_nodes.size(), 0);
  for (const SupplyPoles& s : supplies) {
    if (!limits_itself(s)) strong[circuit.island_of[s.pos]] = 1;
  }
  std::vector<std::vector<std::size_t>> out(all.fuses.size());
  for (const SupplyPoles& supply : supplies) {
    const int island = circuit.island_of[supply.pos];
    if (strong[island] != 0 && limits_itself(supply)) continue;
    for (const int pole : {supply.pos, supply.neg}) {
      const auto way = ways_to(solved, at_node, pole);
      for (const Branch& fuse : circuit.branches) {
        if (fuse.type != BranchType::fuse || fuse.island != island) continue;
        for (const int end : {fuse.a, fuse.b}) {
          std::vector<std::size_t> passed;
          int at = end;
          while (at != pole && way[at] < circuit.branches.size()) {
            const Branch& b = circuit.branches[way[at]];
            if (&b == &fuse) break;
            if (b.type == BranchType::fuse) passed.push_back(b.index);
            at = b.a == at ? b.b : b.a;
          }
          if (at != pole) continue;  // by way of the fuse itself, or not at all
          auto& known = out[fuse.index];
          for (std::size_t f : passed) {
            if (std::find(known.begin(), known.end(), f) == known.end()) known.push_back(f);
          }
        }
      }
    }
  }
  return out;
}

struct Names {
  const Loom& loom;
  std::string operator()(std::size_t f) const { return loom.part(loom.elements.fuses[f].part).name; }
};

void judge_pair(const Loom& loom, std::size_t down, std::size_t up, const OpenerCurve& down_curve,
                const OpenerCurve& up_curve, double most_a, Obligation& owed) {
  const Names name{loom};
  const Selectivity bands = selectivity(down_curve, up_curve, Ampere(most_a));
  if (bands.selective()) {
    if (!owed.figure || bands.ratio > owed.figure->used)
      owed.holds(Figure{show(bands.downstream_opens_after), show(bands.upstream_opens_after), bands.ratio},
                 "before '" + name(up) + "'");
    return;
  }
  const Fuse& upper = loom.elements.fuses[up];
  const Fuse& lower = loom.elements.fuses[down];
  if (upper.curve == "cartridge" && lower.curve == "cartridge" &&
      selective_by_standard(OpenerKind::cartridge_gg, down_curve.rated, OpenerKind::cartridge_gg, up_curve.rated))
    return;
  const Selectivity middle = expected(down_curve, up_curve, most_a);
  if (middle.ratio <= 1) {
    if (!owed.figure || middle.ratio > owed.figure->used)
      owed.holds(Figure{show(middle.downstream_opens_after), show(middle.upstream_opens_after), middle.ratio},
                 "before '" + name(up) + "', by the middle of both bands");
    return;
  }
  owed.broken(fmt::format("'{}' ({}) may open before '{}' ({}), which stands nearer to the fault", name(up),
                          show(Ampere(*upper.rated_a)), name(down), show(Ampere(*lower.rated_a))),
              Figure{show(Ampere(*lower.rated_a)), show(Ampere(*upper.rated_a)), middle.ratio})
      .note(fmt::format(
          "at {} the nearer one takes {}, the other {}", show(middle.worst),
          std::isinf(middle.downstream_opens_after.value) ? "for ever" : show(middle.downstream_opens_after),
          show(middle.upstream_opens_after)))
      .note("everything else behind the upstream fuse goes dark with the one fault")
      .see(place_of(loom, upper, upper.rated_a), "the upstream fuse")
      .fix("a smaller fuse here, or a larger one upstream where its wires allow it: 1.6 times the rating or more");
}

void judge_fuse_order(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const std::vector<std::vector<std::size_t>> upstream = upstream_fuses(solved);
  for (std::size_t f = 0; f < upstream.size(); ++f) {
    const Fuse& fuse = loom.elements.fuses[f];
    const auto curve = curve_of(loom, fuse);
    if (!curve) continue;  // fuse-duty and fuse-protects-wire ask for it
    Obligation& owed = ledger.open(rule, subject_of(loom, fuse, loom.part(fuse.part).kind == "pack"));
    owed.holds("no other fuse before it");
    for (std::size_t up : upstream[f]) {
      const Fuse& upper = loom.elements.fuses[up];
      const auto up_curve = curve_of(loom, upper);
      if (!up_curve || upper.part.value == fuse.part.value) continue;
      // Two in one loop, one in each pole: neither is upstream of the other, and either may open.
      const auto& back = upstream[up];
      if (std::find(back.begin(), back.end(), f) != back.end()) continue;
      const double most_a = std::min(solved.fuse_faults[f].largest_a, solved.fuse_faults[up].largest_a);
      if (most_a <= 0) continue;
      judge_pair(loom, f, up, *curve, *up_curve, most_a, owed);
      if (owed.verdict == Verdict::broken) break;
    }
  }
}

}  // namespace

const Rule fuse_order{
    .slug = "fuse-order",
    .group = Group::protection,
    .severity = Severity::nuisance,
    .promise = "Of two fuses in series the one nearer to the fault opens first.",
    .judge = judge_fuse_order,
};

}  // namespace loomproof
