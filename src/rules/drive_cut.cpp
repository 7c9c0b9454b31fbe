// drive-cut: what takes the torque away still does under every single fault.
//
// Brake, key, kill switch, stand, charger: every position of a switch that allows no torque while the loom is whole.
// docs/rules/drive-cut.md
#include <algorithm>
#include <optional>

#include "rules/called.h"
#include "rules/list.h"
#include "rules/story.h"
#include "rules/subject.h"

namespace loomproof {
namespace {

std::optional<std::size_t> torque_in(const Loom& loom, const OperatingPoint& point) {
  for (std::size_t i = 0; i < loom.elements.outputs.size(); ++i) {
    if (loom.elements.outputs[i].name == "torque" && point.logic.output_on[i] != 0) return i;
  }
  return std::nullopt;
}

bool has_own_requirement(const Loom& loom, PartIndex part, int position) {
  return std::any_of(loom.musts.begin(), loom.musts.end(), [&](const Must& must) {
    return must.never && must.output && must.when.size() == 1 && must.when.front() == std::pair(part, position);
  });
}

// A switch that is called to stop the vehicle and does not, in a state that nothing else stops. Where a requirement
// says the same, that is judged.
void judge_called_stops(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (std::size_t p = 0; p < loom.parts.size(); ++p) {
    const Part& part = loom.parts[p];
    for (const int stop : stop_positions(loom, PartIndex{p})) {
      if (has_own_requirement(loom, PartIndex{p}, stop)) continue;
      const auto point = std::find_if(solved.points.begin(), solved.points.end(), [&](const OperatingPoint& x) {
        return !x.situation.duty && x.situation.positions[p] == stop && torque_in(loom, x);
      });
      if (point == solved.points.end()) continue;
      const PartIndex drive = loom.elements.outputs[*torque_in(loom, *point)].part;
      Obligation& owed = ledger.open(rule, subject_of(loom, PartIndex{p}));
      owed.broken(fmt::format("'{}' gives torque with '{}' {}", loom.part(drive).name, part.name,
                              part.positions[static_cast<std::size_t>(stop)]),
                  std::nullopt, solved.describe(point->situation))
          .note("by its name or its position's it is there to stop the vehicle");
      tell_enables(solved, *point, drive, owed);
      owed.fix("take a contact of it that opens into the line of the key, the permit or the contactor's coil");
    }
  }
}

// With nothing switched on but the grip turned.
void judge_at_rest(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const auto is_grip = [&](std::size_t p) {
    const auto& grips = loom.elements.dividers;
    return std::any_of(grips.begin(), grips.end(), [&](const Divider& d) { return d.part == PartIndex{p}; });
  };
  for (const OperatingPoint& point : solved.points) {
    const auto torque = torque_in(loom, point);
    if (point.situation.duty || !torque) continue;
    bool at_rest = true;
    for (std::size_t p = 0; p < loom.parts.size(); ++p) at_rest &= point.situation.positions[p] <= 0 || is_grip(p);
    if (!at_rest) continue;
    const PartIndex drive = loom.elements.outputs[*torque].part;
    Obligation& owed = ledger.open(rule, subject_of(loom, drive));
    owed.broken(fmt::format("'{}' gives torque with every switch at rest, as soon as the grip is turned",
                            loom.part(drive).name),
                std::nullopt, solved.describe(point.situation))
        .note("the first position of a switch is its rest; nobody has switched this vehicle on");
    tell_enables(solved, point, drive, owed);
    owed.fix(
        "take the contact of a key that is open at rest into the line that wakes the controller and its contactor");
    return;
  }
}

void judge_drive_cut(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (const WatchResult& w : solved.faults->watches) {
    if (w.watch.what != Watch::What::torque) continue;
    const std::string drive = loom.part(loom.elements.outputs[w.watch.index].part).name;
    const std::string when = when_of(loom, w.watch);
    StoryWords words;
    words.happens = fmt::format("'{}' gives torque with {}", drive, when);
    words.stays = fmt::format("no torque with {}", when);
    words.fix =
        "let the switch act twice, on two inputs: a contact that closes, to the brake input, and one that opens, in "
        "the permit line";
    judge_watch(solved, w, words, ledger.open(rule, subject_of(loom, w.watch.when.front().first)), ledger);
  }
  // A charger that leaves the torque on is no matter of a fault.
  for (const Source& s : loom.elements.sources) {
    const Part& part = loom.part(s.part);
    if (part.positions.size() < 2 || s.when.op != Condition::Op::position) continue;
    for (const OperatingPoint& point : solved.points) {
      if (point.situation.duty || !(std::find(s.when.positions.begin(), s.when.positions.end(),
                                              point.situation.positions[s.part.value]) != s.when.positions.end()))
        continue;
      const auto i = torque_in(loom, point);
      if (!i) continue;
      Obligation& owed = ledger.open(rule, subject_of(loom, s.part));
      owed.broken(fmt::format("'{}' gives torque with '{}' {}", loom.part(loom.elements.outputs[*i].part).name,
                              part.name, part.positions[point.situation.positions[s.part.value]]),
                  std::nullopt, solved.describe(point.situation))
          .note("the vehicle drives off with its lead");
      tell_enables(solved, point, loom.elements.outputs[*i].part, owed);
      owed.fix("take the charger's link contact into the control line, so that it opens when the plug is in");
      break;
    }
  }
  judge_called_stops(rule, solved, ledger);
  judge_at_rest(rule, solved, ledger);
}

}  // namespace

const Rule drive_cut{
    .slug = "drive-cut",
    .group = Group::control,
    .severity = Severity::danger,
    .promise = "What takes the torque away, brake, key, kill switch or charger, still does under every single fault.",
    .judge = judge_drive_cut,
};

}  // namespace loomproof
