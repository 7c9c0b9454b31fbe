// fuse-order: of two fuses in series the one nearer to the fault opens first.
//
// By the bands where they are apart, by IEC 60269-2 for gG, else by the middle of the bands. docs/rules/fuse-order.md
#include <algorithm>
#include <cmath>

#include "rules/list.h"
#include "rules/subject.h"
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

// Fuses between one and the poles of the supplies of its own circuit, by index.
std::vector<std::size_t> upstream_of(const Solved& solved, const Branch& fuse) {
  std::vector<std::size_t> out;
  const Circuit& circuit = solved.circuit;
  const BranchFilter passes = [&](const Branch& b) {
    return &b != &fuse && is_conductor(circuit, b) && !is_tie(*solved.loom, b);
  };
  // A charger or converter that limits itself makes no fuse upstream of another, unless it is the only source there.
  const auto limits_itself = [&](const SupplyPoles& supply) {
    const Elements& all = solved.loom->elements;
    for (const Source& s : all.sources) {
      if (s.part == supply.part && !s.limit_a) return false;
    }
    for (const Converter& c : all.converters) {
      if (c.part == supply.part && !c.limit_a) return false;
    }
    return true;
  };
  const auto supplies = supply_poles(circuit);
  const bool strong = std::any_of(supplies.begin(), supplies.end(), [&](const SupplyPoles& s) {
    return circuit.island_of[s.pos] == fuse.island && !limits_itself(s);
  });
  for (const SupplyPoles& supply : supplies) {
    if (strong && limits_itself(supply)) continue;
    for (const int pole : {supply.pos, supply.neg}) {
      if (circuit.island_of[pole] != fuse.island) continue;
      for (const int end : {fuse.a, fuse.b}) {
        for (std::size_t i : walk_between(solved.graph, circuit, end, pole, passes)) {
          const Branch& b = circuit.branches[i];
          if (b.type == BranchType::fuse && std::find(out.begin(), out.end(), b.index) == out.end())
            out.push_back(b.index);
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

void judge(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  std::vector<std::vector<std::size_t>> upstream(loom.elements.fuses.size());
  for (const Branch& b : solved.circuit.branches) {
    if (b.type == BranchType::fuse) upstream[b.index] = upstream_of(solved, b);
  }
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
    .judge = judge,
};

}  // namespace loomproof
