// drive-cut: what takes the torque away still does under every single fault.
//
// Brake, key, kill switch, stand, charger: every position of a switch that allows no torque while the loom is whole.
// docs/rules/drive-cut.md
#include <set>

#include "rules/list.h"
#include "rules/story.h"
#include "rules/subject.h"

namespace loomproof {
namespace {

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
      const auto torque = [&](std::size_t i) {
        return loom.elements.outputs[i].name == "torque" && point.logic.output_on[i] != 0;
      };
      std::size_t i = 0;
      while (i < loom.elements.outputs.size() && !torque(i)) ++i;
      if (i == loom.elements.outputs.size()) continue;
      Obligation& owed = ledger.open(rule, subject_of(loom, s.part));
      owed.broken(fmt::format("'{}' gives torque with '{}' {}", loom.part(loom.elements.outputs[i].part).name,
                              part.name, part.positions[point.situation.positions[s.part.value]]),
                  std::nullopt, solved.describe(point.situation))
          .note("the vehicle drives off with its lead");
      tell_enables(solved, point, loom.elements.outputs[i].part, owed);
      owed.fix("take the charger's link contact into the control line, so that it opens when the plug is in");
      break;
    }
  }
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
