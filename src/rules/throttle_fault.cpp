// throttle-fault: no single fault opens the throttle while the grip is at rest.
//
// docs/rules/throttle-fault.md
#include "rules/list.h"
#include "rules/story.h"
#include "rules/subject.h"

namespace loomproof {
namespace {

void judge_throttle_fault(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (const WatchResult& w : solved.faults->watches) {
    if (w.watch.what != Watch::What::throttle) continue;
    const Input& input = loom.elements.inputs[w.watch.index];
    const std::string grip = loom.part(w.watch.when.front().first).name;
    Obligation& owed = ledger.open(rule, subject_of(loom, input, true));
    if (!input.valid_low_v || !input.valid_high_v || !input.zero_v || !input.full_v) {
      owed.undecided(fmt::format("the throttle window of '{}' is not given", loom.part(input.part).name),
                     "write `throttle: {zero: 0.9 V, full: 4.1 V, valid: 0.6 V to 4.4 V}` in it");
      continue;
    }
    StoryWords words;
    words.happens = fmt::format("'{}' sees an open throttle with '{}' at rest", loom.part(input.part).name, grip);
    words.stays = fmt::format("the signal stays at zero or outside its window with '{}' at rest", grip);
    words.fix =
        "a window whose ends the faulty signal lies beyond, and a return of its own that nothing else shares or opens";
    judge_watch(solved, w, words, owed, ledger);
  }
}

}  // namespace

const Rule throttle_fault{
    .slug = "throttle-fault",
    .group = Group::control,
    .severity = Severity::danger,
    .promise = "No single fault opens the throttle while the grip is at rest.",
    .judge = judge_throttle_fault,
};

}  // namespace loomproof
