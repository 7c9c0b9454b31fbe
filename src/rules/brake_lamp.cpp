// brake-lamp: the brake lamp lights with every brake and with braking by the motor, and with nothing else.
//
// A brake is a switch that takes the torque away through the controller's brake input; a brake lamp is a light that
// any of them switches on. docs/rules/brake-lamp.md
#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "rules/called.h"
#include "rules/list.h"
#include "rules/story.h"
#include "rules/subject.h"
#include "solve/brake_lamps.h"
#include "solve/by_state.h"
#include "solve/light.h"

namespace loomproof {
namespace {

/// A deceleration above which braking by the motor alone must light the brake lamp, m/s2: UN Regulations 13-H and 78
/// and what was proposed for them, from memory; below it they leave the lamp free or forbid it.
constexpr double signalled_from_ms2 = 1.3;

bool shines(const Solved& solved, const OperatingPoint& point, const Load& lamp) {
  const auto v = voltage(solved.circuit, point, lamp.pos, lamp.neg);
  return v && std::fabs(v->value) >= shines_from * rated_volts(lamp);
}

class Lamps {
 public:
  explicit Lamps(const Solved& solved) : solved_(solved), loom_(*solved.loom) {
    std::vector<BrakeView> views;
    for (const OperatingPoint& p : solved.points) {
      if (p.situation.duty) continue;
      by_state_.add(p.situation, p);
      BrakeView view{&p.situation, &p.logic, {}};
      for (const Load& l : loom_.elements.loads) view.shines.push_back(l.light && shines(solved, p, l) ? 1 : 0);
      views.push_back(std::move(view));
    }
    by_state_.close();
    for (std::size_t o = 0; o < loom_.elements.outputs.size(); ++o) {
      const Output& out = loom_.elements.outputs[o];
      if (out.name == "torque") drives_.push_back({o, find_named(loom_.elements.outputs, out.part, "regenerating")});
    }
    brakes_ = find_brakes(loom_, views);
    std::erase_if(brakes_, [&](const auto& b) { return is_called_stand(loom_, b.first.part); });
    add_called(views);
  }

  const std::map<Brake, std::set<std::size_t>>& brakes() const { return brakes_; }
  /// Called brakes that take the torque away by another way than the brake input, and light nothing.
  const std::set<Brake>& doubtful() const { return doubtful_; }

  /// A situation ready to drive but for the brakes in which one is applied and `lamp` is dark.
  const OperatingPoint* dark(std::size_t lamp) const {
    for (const auto& [situation, point] : by_state_) {
      if (applied(point->situation) && ready(*point) && !shines(solved_, *point, loom_.elements.loads[lamp]))
        return point;
    }
    return nullptr;
  }

  const OperatingPoint* lit_without(std::size_t lamp) const {
    for (const auto& [situation, point] : by_state_) {
      if (!applied(point->situation) && !regenerating(*point) && shines(solved_, *point, loom_.elements.loads[lamp]))
        return point;
    }
    return nullptr;
  }

  /// With no brake applied; and the controller that brakes.
  std::pair<const OperatingPoint*, PartIndex> dark_while_regenerating(std::size_t lamp) const {
    for (const auto& [situation, point] : by_state_) {
      if (applied(point->situation) || shines(solved_, *point, loom_.elements.loads[lamp])) continue;
      if (const auto part = regenerating(*point)) return {point, *part};
    }
    return {};
  }

 private:
  struct Drive {
    std::size_t torque;
    std::optional<std::size_t> regenerating;
  };

  // A brake by its name that opens the permit, or what else the torque needs. It counts as one where it lights a lamp.
  void add_called(const std::vector<BrakeView>& views) {
    ByState<BrakeView> by_state;
    for (const BrakeView& v : views) by_state.add(*v.situation, v);
    by_state.close();
    std::vector<std::int8_t> moved;
    for (const BrakeView& off : views) {
      if (std::none_of(drives_.begin(), drives_.end(), [&](const Drive& d) { return off.logic->output_on[d.torque]; }))
        continue;
      for (std::size_t p = 0; p < loom_.parts.size(); ++p) {
        if (off.situation->positions[p] != 0 || !is_called_brake(loom_, PartIndex{p})) continue;
        for (std::size_t k = 1; k < loom_.parts[p].positions.size(); ++k) {
          const Brake brake{PartIndex{p}, static_cast<int>(k)};
          moved = off.situation->positions;
          moved[p] = static_cast<std::int8_t>(k);
          const BrakeView* const on = by_state.at(off.situation->charge, moved);
          if (on == nullptr || brakes_.contains(brake)) continue;
          if (std::any_of(drives_.begin(), drives_.end(),
                          [&](const Drive& d) { return on->logic->output_on[d.torque]; }))
            continue;
          std::set<std::size_t> lit = lit_by(loom_, off, *on);
          if (lit.empty()) {
            doubtful_.insert(brake);
          } else {
            brakes_[brake].merge(lit);
          }
        }
      }
    }
    std::erase_if(doubtful_, [&](const Brake& b) { return brakes_.contains(b); });
  }

  bool applied(const Situation& s) const {
    return std::any_of(brakes_.begin(), brakes_.end(),
                       [&](const auto& b) { return s.positions[b.first.part.value] == b.first.position; });
  }

  // It would give torque with every brake let go.
  bool ready(const OperatingPoint& point) const {
    std::vector<std::int8_t> released = point.situation.positions;
    for (const auto& [brake, lamps] : brakes_) released[brake.part.value] = 0;
    const OperatingPoint* off = by_state_.at(point.situation.charge, released);
    return off != nullptr && std::any_of(drives_.begin(), drives_.end(),
                                         [&](const Drive& d) { return off->logic.output_on[d.torque] != 0; });
  }

  std::optional<PartIndex> regenerating(const OperatingPoint& point) const {
    for (const Drive& d : drives_) {
      if (d.regenerating && point.logic.output_on[*d.regenerating] != 0) return loom_.elements.outputs[d.torque].part;
    }
    return std::nullopt;
  }

  const Solved& solved_;
  const Loom& loom_;
  ByState<OperatingPoint> by_state_{true};
  std::vector<Drive> drives_;
  std::map<Brake, std::set<std::size_t>> brakes_;
  std::set<Brake> doubtful_;
};

// The controller says that it lights the lamp: without a fault it must, and what undoes it is listed. One wire leads to
// every lamp, so that no vehicle could hold under each fault.
bool judge_commanded(const Solved& solved, std::size_t lamp, Obligation& owed, Ledger& ledger) {
  for (const WatchResult& w : solved.faults->watches) {
    if (w.watch.what != Watch::What::lamp || w.watch.index != lamp) continue;
    StoryWords words;
    words.happens = fmt::format("'{}' stays dark while the motor brakes", owed.subject.name);
    words.stays = "on with every brake and while the motor brakes, and with nothing else, in every switch state";
    words.fix = "let the controller's lamp driver switch it through a relay whose coil has its own feed";
    words.faults_only_listed = true;
    judge_watch(solved, w, words, owed, ledger);
    return true;
  }
  return false;
}

// Nothing but the brakes lights it, and the motor brakes by itself: how hard decides.
void judge_uncommanded(const Solved& solved, const OperatingPoint& point, PartIndex drive, Obligation& owed) {
  const Part& part = solved.loom->part(drive);
  const std::string name = owed.subject.name;
  const auto slows = part.number("regen_slows");
  if (!slows) {
    owed.undecided(
            fmt::format("whether '{}' may stay dark while '{}' brakes by the motor: how hard is not given", name,
                        part.name),
            fmt::format("write `regen_slows` of '{}' as measured, or let its lamp driver light the lamp", part.name))
        .note(
            fmt::format("more than {} m/s2 must light it (UN Regulations 13-H and 78, from memory); local codes decide",
                        signalled_from_ms2));
    return;
  }
  const Figure figure{fmt::format("{:.3g} m/s2", *slows), fmt::format("{} m/s2", signalled_from_ms2),
                      *slows / signalled_from_ms2};
  if (*slows <= signalled_from_ms2) {
    owed.holds(figure, solved.describe(point.situation));
    return;
  }
  owed.broken(fmt::format("'{}' stays dark while '{}' slows the vehicle by {}; from {} it must light", name, part.name,
                          figure.value, figure.limit),
              figure, solved.describe(point.situation))
      .note("the limit of UN Regulations 13-H and 78 is from memory; local codes decide")
      .fix("let the controller's lamp driver switch it through a relay, or set it to brake less hard");
}

void judge_lamp(const Solved& solved, const Lamps& lamps, std::size_t l, Obligation& owed, Ledger& ledger) {
  const std::string name = owed.subject.name;
  if (const OperatingPoint* point = lamps.dark(l)) {
    owed.broken(fmt::format("'{}' stays dark with a brake applied", name), std::nullopt,
                solved.describe(point->situation))
        .fix("feed it from every brake switch, before anything that can be switched off while driving");
  } else if (const OperatingPoint* lit = lamps.lit_without(l)) {
    owed.broken(fmt::format("'{}' is on with no brake applied", name), std::nullopt, solved.describe(lit->situation))
        .note("who follows no longer sees that the vehicle brakes")
        .fix("take what else feeds it away, or part it by a diode of its own");
  } else if (judge_commanded(solved, l, owed, ledger)) {
    return;
  } else if (const auto [regen, drive] = lamps.dark_while_regenerating(l); regen != nullptr) {
    judge_uncommanded(solved, *regen, drive, owed);
  } else {
    owed.holds("on with every brake and with nothing else, in every switch state");
  }
}

// A controller that may give current back and does not say when: taken to wait for a brake, and said.
void assume_regen(const Loom& loom, Ledger& ledger) {
  for (const Output& out : loom.elements.outputs) {
    if (out.name != "regenerating") continue;
    const Part& part = loom.part(out.part);
    const Scalar* on = part.find("regen_on");
    if (on == nullptr || !on->assumed || part.number("regen_limit").value_or(0) <= 0) continue;
    ledger.assume(
        fmt::format("'{}' taken to brake by the motor only while a brake is told: write `regen_on`", part.name),
        part.at);
  }
}

bool is_lamp(const Loom& loom, const Load& load) {
  return load.light && loom.kind_of(loom.part(load.part)).symbol == "lamp";
}

// No brake lights anything. A file without any lamp leaves the lighting out, and not every law asks for a brake lamp;
// one with lamps must say that none is meant for it.
void judge_no_lamp(const Rule& rule, const Loom& loom, const Lamps& lamps, Ledger& ledger) {
  const auto& loads = loom.elements.loads;
  if (lamps.brakes().empty()) return;
  if (std::none_of(loads.begin(), loads.end(), [&](const Load& l) { return is_lamp(loom, l); })) return;
  const Brake& brake = lamps.brakes().begin()->first;
  const std::string name = loom.part(brake.part).name;
  const std::string what =
      fmt::format("no lamp lights with '{}' {}", name, loom.part(brake.part).positions[brake.position]);
  Obligation& owed = ledger.open(rule, subject_of(loom, brake.part));
  const auto meant =
      std::find_if(loads.begin(), loads.end(), [&](const Load& l) { return is_called_brake_lamp(loom, l); });
  if (meant == loads.end()) {
    owed.undecided(what + ", nor with any other brake: whether the vehicle needs a brake lamp is not known",
                   "take a lamp to every brake switch, or waive it: `{rule: brake-lamp, reason: ...}`, where the law "
                   "asks for none");
    return;
  }
  const Part& lamp = loom.part(meant->part);
  owed.broken(fmt::format("{}, nor with any other brake, and '{}' is there for it", what, lamp.name))
      .note("who follows does not see that the vehicle brakes")
      .see(lamp.at, "the brake lamp")
      .fix(fmt::format("feed '{}' from every brake switch, and from nothing else", lamp.name));
}

void judge_brake_lamp(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Lamps lamps(solved);
  std::set<std::size_t> all;
  for (const auto& [brake, own] : lamps.brakes()) all.insert(own.begin(), own.end());
  if (all.empty()) {
    judge_no_lamp(rule, loom, lamps, ledger);
    return;
  }
  for (const auto& [brake, own] : lamps.brakes()) {
    if (!own.empty()) continue;
    ledger.open(rule, subject_of(loom, brake.part))
        .broken(fmt::format("no lamp lights with '{}' {}", loom.part(brake.part).name,
                            loom.part(brake.part).positions[brake.position]))
        .fix("take this switch to the brake lamp too");
  }
  for (std::size_t l : all)
    judge_lamp(solved, lamps, l, ledger.open(rule, subject_of(loom, loom.elements.loads[l].part)), ledger);
  for (std::size_t l = 0; l < loom.elements.loads.size(); ++l) {
    const Load& lamp = loom.elements.loads[l];
    if (all.contains(l) || !is_called_brake_lamp(loom, lamp)) continue;
    ledger.open(rule, subject_of(loom, lamp, true))
        .broken(
            fmt::format("no brake lights '{}.{}', and it is called a brake lamp", loom.part(lamp.part).name, lamp.name))
        .of_wiring()
        .note("who follows does not see that the vehicle brakes, or sees it all the time")
        .fix("feed it from every brake switch, and from nothing else");
  }
  for (const Brake& brake : lamps.doubtful()) {
    const Part& part = loom.part(brake.part);
    ledger.open(rule, subject_of(loom, brake.part))
        .undecided(fmt::format("'{}' {} takes the torque away and lights no brake lamp: whether it must is not known",
                               part.name, part.positions[static_cast<std::size_t>(brake.position)]),
                   "take it to the brake lamp and to the brake input too, or waive it where it only parks the vehicle");
  }
  assume_regen(loom, ledger);
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
