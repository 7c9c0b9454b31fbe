// brake-lamp: the brake lamp lights with every brake and with braking by the motor, and with nothing else.
//
// A brake is a switch that takes the torque away through the controller's brake input; a brake lamp is a light that
// any of them switches on. docs/rules/brake-lamp.md
#include <cmath>
#include <map>
#include <set>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/light.h"

namespace loomproof {
namespace {

struct Brake {
  PartIndex part;
  int position = 0;
  friend auto operator<=>(const Brake&, const Brake&) = default;
};

bool shines(const Solved& solved, const OperatingPoint& point, const Load& lamp) {
  const auto v = voltage(solved.circuit, point, lamp.pos, lamp.neg);
  const double rated = lamp.rated_v && *lamp.rated_v > 0 ? *lamp.rated_v : assumed_rated_v;
  return v && std::fabs(v->value) >= shines_from * rated;
}

std::optional<std::size_t> find_named(const auto& list, PartIndex part, std::string_view name) {
  for (std::size_t i = 0; i < list.size(); ++i) {
    if (list[i].part == part && list[i].name == name) return i;
  }
  return std::nullopt;
}

class Lamps {
 public:
  explicit Lamps(const Solved& solved) : solved_(solved), loom_(*solved.loom) {
    for (const OperatingPoint& p : solved.points) {
      if (!p.situation.duty) by_state_[{p.situation.charge, p.situation.positions}] = &p;
    }
    for (std::size_t o = 0; o < loom_.elements.outputs.size(); ++o) {
      const Output& out = loom_.elements.outputs[o];
      if (out.name == "torque")
        drives_.push_back({o, find_named(loom_.elements.inputs, out.part, "brake"),
                           find_named(loom_.elements.outputs, out.part, "regenerating")});
    }
    find_brakes();
  }

  const std::map<Brake, std::set<std::size_t>>& brakes() const { return brakes_; }

  /// A situation ready to drive but for the brakes in which one is applied and `lamp` is dark.
  const OperatingPoint* dark(std::size_t lamp) const {
    for (const auto& [key, point] : by_state_) {
      if (applied(point->situation) && ready(*point) && !shines(solved_, *point, loom_.elements.loads[lamp]))
        return point;
    }
    return nullptr;
  }

  const OperatingPoint* lit_without(std::size_t lamp) const {
    for (const auto& [key, point] : by_state_) {
      if (!applied(point->situation) && !regenerates(*point) && shines(solved_, *point, loom_.elements.loads[lamp]))
        return point;
    }
    return nullptr;
  }

  const OperatingPoint* dark_while_regenerating(std::size_t lamp) const {
    for (const auto& [key, point] : by_state_) {
      if (!applied(point->situation) && regenerates(*point) && !shines(solved_, *point, loom_.elements.loads[lamp]))
        return point;
    }
    return nullptr;
  }

 private:
  struct Drive {
    std::size_t torque;
    std::optional<std::size_t> brake, regenerating;
  };

  const OperatingPoint* at(const Situation& s, const std::vector<std::int8_t>& positions) const {
    const auto found = by_state_.find({s.charge, positions});
    return found == by_state_.end() ? nullptr : found->second;
  }

  void find_brakes() {
    for (const auto& [key, off] : by_state_) {
      for (const Drive& d : drives_) {
        if (!d.brake || off->logic.output_on[d.torque] == 0) continue;
        for (std::size_t p = 0; p < loom_.parts.size(); ++p) {
          if (off->situation.positions[p] != 0) continue;
          for (std::size_t k = 1; k < loom_.parts[p].positions.size(); ++k) {
            std::vector<std::int8_t> moved = off->situation.positions;
            moved[p] = static_cast<std::int8_t>(k);
            const OperatingPoint* on = at(off->situation, moved);
            if (on == nullptr || on->logic.output_on[d.torque] != 0 || on->logic.input_on[*d.brake] == 0) continue;
            auto& lamps = brakes_[{PartIndex{p}, static_cast<int>(k)}];
            for (std::size_t l = 0; l < loom_.elements.loads.size(); ++l) {
              const Load& lamp = loom_.elements.loads[l];
              if (lamp.light && !shines(solved_, *off, lamp) && shines(solved_, *on, lamp)) lamps.insert(l);
            }
          }
        }
      }
    }
  }

  bool applied(const Situation& s) const {
    return std::any_of(brakes_.begin(), brakes_.end(),
                       [&](const auto& b) { return s.positions[b.first.part.value] == b.first.position; });
  }

  // It would give torque with every brake let go.
  bool ready(const OperatingPoint& point) const {
    std::vector<std::int8_t> released = point.situation.positions;
    for (const auto& [brake, lamps] : brakes_) released[brake.part.value] = 0;
    const OperatingPoint* off = at(point.situation, released);
    return off != nullptr && std::any_of(drives_.begin(), drives_.end(),
                                         [&](const Drive& d) { return off->logic.output_on[d.torque] != 0; });
  }

  bool regenerates(const OperatingPoint& point) const {
    return std::any_of(drives_.begin(), drives_.end(),
                       [&](const Drive& d) { return d.regenerating && point.logic.output_on[*d.regenerating] != 0; });
  }

  const Solved& solved_;
  const Loom& loom_;
  std::map<std::pair<Charge, std::vector<std::int8_t>>, const OperatingPoint*> by_state_;
  std::vector<Drive> drives_;
  std::map<Brake, std::set<std::size_t>> brakes_;
};

void judge_lamp(const Solved& solved, const Lamps& lamps, std::size_t l, Obligation& owed) {
  const std::string name = owed.subject.name;
  if (const OperatingPoint* point = lamps.dark(l)) {
    owed.broken(fmt::format("'{}' stays dark with a brake applied", name), std::nullopt,
                solved.describe(point->situation))
        .fix("feed it from every brake switch, before anything that can be switched off while driving");
  } else if (const OperatingPoint* lit = lamps.lit_without(l)) {
    owed.broken(fmt::format("'{}' is on with no brake applied", name), std::nullopt, solved.describe(lit->situation))
        .note("who follows no longer sees that the vehicle brakes")
        .fix("take what else feeds it away, or part it by a diode of its own");
  } else if (const OperatingPoint* regen = lamps.dark_while_regenerating(l)) {
    owed.broken(fmt::format("'{}' stays dark while the motor brakes", name), std::nullopt,
                solved.describe(regen->situation))
        .fix("let the controller's lamp driver switch it through a relay");
  } else {
    owed.holds("on with every brake and with nothing else, in every switch state");
  }
}

void judge_brake_lamp(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Lamps lamps(solved);
  std::set<std::size_t> all;
  for (const auto& [brake, own] : lamps.brakes()) all.insert(own.begin(), own.end());
  if (all.empty()) return;  // a vehicle without brake lamp, which not every law asks for
  for (const auto& [brake, own] : lamps.brakes()) {
    if (!own.empty()) continue;
    ledger.open(rule, subject_of(loom, brake.part))
        .broken(fmt::format("no lamp lights with '{}' {}", loom.part(brake.part).name,
                            loom.part(brake.part).positions[brake.position]))
        .fix("take this switch to the brake lamp too");
  }
  for (std::size_t l : all)
    judge_lamp(solved, lamps, l, ledger.open(rule, subject_of(loom, loom.elements.loads[l].part)));
}

}  // namespace

const Rule brake_lamp{
    .slug = "brake-lamp",
    .group = Group::control,
    .severity = Severity::danger,
    .promise = "The brake lamp lights with every brake and with braking by the motor, and with nothing else.",
    .judge = judge_brake_lamp,
};

}  // namespace loomproof
