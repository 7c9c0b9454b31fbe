// Wires that stand a fault alike, and how each fuse does against them.
#include "solve/wire_classes.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>
#include <utility>

#include "model/time_limit.h"
#include "solve/beside.h"
#include "solve/fault_endurance.h"
#include "solve/fuse_band.h"
#include "solve/insulation.h"

namespace loomproof {
namespace {

constexpr int damage_samples = 80;

using Build = std::tuple<double, std::string, double>;  // mm2, insulation, degC around it
using Sight = std::tuple<std::size_t, double, double>;  // fuse, share, relief in A

std::string insulation_of(const Wire& wire) {
  return wire.insulation ? wire.insulation->value : std::string(assumed_insulation);
}

class Classes {
 public:
  Classes(const Loom& loom, const std::vector<FuseFault>& faults) : faults_(faults) {
    for (const Fuse& fuse : loom.elements.fuses) curves_.push_back(curve_of(loom, fuse));
  }

  WireClass of_build(const Build& build) const {
    const auto& [mm2, name, around_c] = build;
    const Celsius around(around_c);
    WireClass c;
    c.endurance = *fault_endurance(SquareMillimetre(mm2), name, around);
    c.allowed_a = allowed_current(c.endurance.build, find_insulation(name)->limit, around).value;
    double largest = 1;
    for (const FuseFault& f : faults_) largest = std::max(largest, f.largest_a);
    const Ampere harmless = harmless_current(c.endurance);
    c.damage = DamageCurve::sample(DamageTimes(c.endurance), harmless, Ampere(std::max(largest, 2 * harmless.value)),
                                   damage_samples);
    for (std::size_t f = 0; f < curves_.size(); ++f) {
      if (!curves_[f]) {
        c.by_fuse.push_back(std::nullopt);
        continue;
      }
      const Ampere most(std::max(faults_[f].largest_a, curves_[f]->rated.value));
      c.by_fuse.push_back(coordinate(*curves_[f], c.damage, most, most));
    }
    return c;
  }

  // The fuse sees share * (I - relief) of the wire's I: as a fuse of 1/share times its rating does, held against the
  // wire's damage with the relief added to every current.
  void see_less(WireClass& c, const Sight& sight) const {
    const auto& [fuse, share, relief_a] = sight;
    if (!c.by_fuse[fuse]) return;
    OpenerCurve curve = *curves_[fuse];
    curve.rated = curve.rated / std::max(share, 1e-3);
    const double most_a = std::max(faults_[fuse].largest_a / std::max(share, 1e-3), curve.rated.value);
    const Ampere relief(relief_a);
    const double harmless_a = std::max(0.0, harmless_current(c.endurance).value - relief_a);
    const DamageTimes until_damage(c.endurance);
    const auto until = [&](Ampere i) {
      return i.value <= c.damage.max_a ? time_to_damage(c.damage, i) : until_damage(i);
    };
    const DamageCurve damage = DamageCurve::sample([&](Ampere i) { return until(i + relief); }, Ampere(harmless_a),
                                                   Ampere(std::max(most_a, 2 * harmless_a)), damage_samples);
    Coordination found = coordinate(curve, damage, Ampere(most_a), Ampere(most_a));
    found.worst = found.worst + relief;
    c.by_fuse[fuse] = found;
  }

 private:
  const std::vector<FuseFault>& faults_;
  std::vector<std::optional<OpenerCurve>> curves_;
};

}  // namespace

std::string missing_of(const Wire& wire) {
  if (!wire.size) return "size";
  return find_insulation(insulation_of(wire)) ? "" : "insulation";
}

std::vector<WireClass> wire_classes(const Loom& loom, const FaultPaths& paths, const std::vector<FuseFault>& faults,
                                    const std::vector<WireHeat>& heat) {
  std::vector<std::vector<std::size_t>> wires_of;  // by class
  std::map<std::pair<Build, std::vector<Sight>>, std::size_t> known;
  for (std::size_t w = 0; w < loom.wires.size(); ++w) {
    const Wire& wire = loom.wires[w];
    if (!missing_of(wire).empty()) continue;
    const Build build(wire.size->value.value, insulation_of(wire), std::ceil(heat[w].around.value));
    // Rounded to the demanding side, so that wires of one branch share a class.
    std::vector<Sight> seen;
    for (const FuseSight& s : paths.sights[w])
      seen.emplace_back(s.fuse, std::floor(s.share * 200) / 200, std::ceil(s.relief_a * 20) / 20);
    const auto [at, fresh] = known.try_emplace({build, std::move(seen)}, wires_of.size());
    if (fresh) wires_of.emplace_back();
    wires_of[at->second].push_back(w);
  }
  // What a build stands in its surroundings is the costly part, and the same whatever fuses it sees.
  const Classes classes(loom, faults);
  std::map<Build, WireClass> builds;
  for (const auto& [key, index] : known) builds.try_emplace(key.first);
  std::vector<std::pair<const Build, WireClass>*> pieces;
  for (auto& entry : builds) pieces.push_back(&entry);
  share_out(pieces.size(), 2, [&] {
    return [&](std::size_t i) {
      go_on();
      pieces[i]->second = classes.of_build(pieces[i]->first);
    };
  });
  std::vector<WireClass> out(wires_of.size());
  for (const auto& [key, index] : known) {
    WireClass& c = out[index] = builds.at(key.first);
    c.in_row = c.by_fuse;
    for (const Sight& sight : key.second) classes.see_less(c, sight);
    c.wires = std::move(wires_of[index]);
  }
  return out;
}

}  // namespace loomproof
