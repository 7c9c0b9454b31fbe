// What the duty asks of every fuse.
#include "solve/fuse_duty.h"

#include <cmath>

#include "solve/describe.h"

namespace loomproof {
namespace {

constexpr Second for_ever{3600};

struct MostCurrent {
  double amps = 0;
  std::size_t point = 0;
};

}  // namespace

std::vector<std::vector<FuseDuty>> fuse_duties(const Loom& loom, const Circuit& circuit,
                                               const std::vector<OperatingPoint>& points) {
  const std::size_t fuses = loom.elements.fuses.size();
  const std::size_t none = loom.duty.size();
  std::vector<std::vector<MostCurrent>> most(none + 1, std::vector<MostCurrent>(fuses));
  for (std::size_t p = 0; p < points.size(); ++p) {
    auto& slot = most[points[p].situation.duty ? points[p].situation.duty->value : none];
    for (const Branch& b : circuit.branches) {
      if (b.type != BranchType::fuse) continue;
      const double amps = std::fabs(branch_current_a(circuit, points[p], b));
      if (amps > slot[b.index].amps) slot[b.index] = {amps, p};
    }
  }
  const auto words = [&](const MostCurrent& m) {
    return m.amps > 0 ? describe(loom, points[m.point].situation) : std::string();
  };
  std::vector<std::vector<FuseDuty>> out(fuses);
  std::vector<bool> ridden(none, false);
  for (const Ride& ride : loom.rides) {
    for (std::size_t f = 0; f < fuses; ++f) {
      FuseDuty duty;
      MostCurrent largest;
      for (DutyIndex d : ride.points) {
        if (!loom.duty[d.value].lasts) continue;
        ridden[d.value] = true;
        const MostCurrent& m = most[d.value][f];
        duty.stretches.push_back({Ampere(m.amps), *loom.duty[d.value].lasts});
        if (m.amps >= largest.amps) largest = m;
      }
      if (duty.stretches.empty()) continue;
      duty.when = words(largest) + ", in ride '" + ride.name + "'";
      out[f].push_back(std::move(duty));
    }
  }
  for (std::size_t d = 0; d <= none; ++d) {
    if (d < none && ridden[d]) continue;
    for (std::size_t f = 0; f < fuses; ++f) {
      out[f].push_back({words(most[d][f]), {{Ampere(most[d][f].amps), for_ever}}});
    }
  }
  return out;
}

}  // namespace loomproof
