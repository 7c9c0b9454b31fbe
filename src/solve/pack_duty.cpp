// What every pack gives and takes in every duty point.
#include "solve/pack_duty.h"

#include <algorithm>

#include "solve/describe.h"

namespace loomproof {
namespace {

struct MostBothWays {
  double out_a = 0, in_a = 0;
  std::size_t point = 0;
};

}  // namespace

std::vector<PackPoles> packs_of(const Circuit& circuit) {
  const auto& sources = circuit.loom->elements.sources;
  std::vector<PackPoles> out;
  for (std::size_t i = 0; i < sources.size(); ++i) {
    const Source& s = sources[i];
    if (s.zone != Zone::traction || !s.sinks) continue;
    if (out.empty() || out.back().part.value != s.part.value) {
      out.push_back({s.part, i, circuit.node(s.pos), circuit.node(s.neg), 0, 0, 0, true});
    }
    // Sections of one source follow one another from its negative upwards.
    PackPoles& pack = out.back();
    pack.pos = circuit.node(s.pos);
    pack.full_v += s.full_v ? *s.full_v * s.share : 0;
    pack.empty_v += s.empty_v ? *s.empty_v * s.share : 0;
    pack.ohm += s.ohm ? *s.ohm * s.share : 0;
    pack.ohm_known = pack.ohm_known && s.ohm.value.has_value();
  }
  return out;
}

std::vector<PackDuty> pack_duties(const Circuit& circuit, const std::vector<OperatingPoint>& points,
                                  const PackPoles& pack) {
  const Loom& loom = *circuit.loom;
  const std::size_t none = loom.duty.size();
  std::vector<MostBothWays> most(none + 1);
  for (std::size_t p = 0; p < points.size(); ++p) {
    MostBothWays& slot = most[points[p].situation.duty ? points[p].situation.duty->value : none];
    for (std::size_t i = 0; i < loom.elements.sources.size(); ++i) {
      if (loom.elements.sources[i].part.value != pack.part.value) continue;
      const double out_a = points[p].source_a[i];
      if (std::max(out_a, -out_a) > std::max(slot.out_a, slot.in_a)) slot.point = p;
      slot.out_a = std::max(slot.out_a, out_a);
      slot.in_a = std::max(slot.in_a, -out_a);
    }
  }
  const auto stretch = [&](std::size_t d, std::optional<Second> lasts) {
    const bool any = most[d].out_a > 0 || most[d].in_a > 0;
    return PackStretch{any ? describe(loom, points[most[d].point].situation) : std::string(), most[d].out_a,
                       most[d].in_a, lasts};
  };
  std::vector<PackDuty> out;
  std::vector<bool> ridden(none, false);
  for (const Ride& ride : loom.rides) {
    PackDuty duty{ride.name, {}};
    for (DutyIndex d : ride.points) {
      if (!loom.duty[d.value].lasts) continue;
      ridden[d.value] = true;
      duty.stretches.push_back(stretch(d.value, loom.duty[d.value].lasts));
    }
    if (!duty.stretches.empty()) out.push_back(std::move(duty));
  }
  for (std::size_t d = 0; d < none; ++d) {
    if (!ridden[d]) out.push_back({loom.duty[d].name, {stretch(d, loom.duty[d].lasts)}});
  }
  out.push_back({"no duty", {stretch(none, std::nullopt)}});
  return out;
}

std::vector<int> joined_without_diodes(const Circuit& circuit, const CircuitGraph& graph) {
  return components(graph, circuit,
                    [&](const Branch& b) { return b.type != BranchType::diode && is_conductor(circuit, b); });
}

}  // namespace loomproof
