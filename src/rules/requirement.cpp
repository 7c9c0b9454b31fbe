// requirement: what the file demands under `must` holds in every situation, and `never` an output under every fault.
//
// docs/rules/requirement.md
#include <algorithm>

#include "rules/list.h"
#include "rules/story.h"
#include "rules/subject.h"
#include "units/print.h"

namespace loomproof {
namespace {

constexpr double dead_v = 1.0;  // below this a terminal counts as dead

bool matches(const Must& must, const Situation& situation) {
  return std::all_of(must.when.begin(), must.when.end(),
                     [&](const auto& w) { return situation.positions[w.first.value] == w.second; });
}

// A terminal that one welded contact leaves live is listed, not graded: bus-off judges the voltage that can hurt.
void judge_faults(const Solved& solved, const Must& must, const std::string& what, Obligation& owed, Ledger& ledger) {
  for (const WatchResult& w : solved.faults->watches) {
    if (w.watch.what != Watch::What::must || &solved.loom->musts[w.watch.index] != &must || w.without_fault) continue;
    StoryWords words;
    words.happens = fmt::format("'{}' asks for no {}, and there is some", must.name, what);
    words.stays = fmt::format("no {} in any situation that matches", what);
    words.fix = "let two inputs or two contacts see to it, so that either alone will do";
    words.faults_only_listed = must.live.has_value();
    judge_watch(solved, w, words, owed, ledger);
  }
}

void judge_must(const Solved& solved, const Must& must, Obligation& owed, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  std::size_t seen = 0;
  std::size_t failed = 0;
  const OperatingPoint* first = nullptr;
  double volts = 0;
  for (const OperatingPoint& point : solved.points) {
    if (!matches(must, point.situation)) continue;
    ++seen;
    bool is = false;
    if (must.output) {
      for (std::size_t o = 0; o < loom.elements.outputs.size(); ++o) {
        const Output& output = loom.elements.outputs[o];
        if (output.part == must.output->first && output.name == must.output->second) is = point.logic.output_on[o] != 0;
      }
    } else {
      volts = live_v(solved.circuit, point, *must.live);
      is = volts > dead_v;
    }
    if (is != must.never) continue;
    ++failed;
    if (first == nullptr) first = &point;
  }
  const std::string what = must.output ? loom.part(must.output->first).name + "." + must.output->second
                                       : "voltage on " + loom.title(*must.live);
  if (seen == 0) {
    owed.undecided(fmt::format("no situation that was settled matches `when` of '{}'", must.name),
                   "see whether its positions exist");
    return;
  }
  if (failed == 0) {
    owed.holds(fmt::format("in all {} situations that match", seen));
    if (must.never) judge_faults(solved, must, what, owed, ledger);
    return;
  }
  owed.broken(must.never ? fmt::format("'{}' asks for no {}, and there is some", must.name, what)
                         : fmt::format("'{}' asks for {}, and there is none", must.name, what),
              std::nullopt, solved.describe(first->situation));
  if (must.never && must.output) tell_enables(solved, *first, must.output->first, owed);
  if (must.never && must.live) tell_feed(solved, *first, *must.live, owed);
  if (failed > 1) owed.note(fmt::format("and in {} more situations of {} that match", failed - 1, seen));
  owed.fix("follow the current from its source in this situation and open the way that should be open");
}

void judge_requirement(const Rule& rule, const Solved& solved, Ledger& ledger) {
  for (const Must& must : solved.loom->musts) {
    judge_must(solved, must, ledger.open(rule, {must.name, must.at, std::nullopt, std::nullopt}), ledger);
  }
}

}  // namespace

const Rule requirement{
    .slug = "requirement",
    .group = Group::control,
    .severity = Severity::danger,
    .promise = "What the file demands under `must` holds in every situation, and under every single fault.",
    .judge = judge_requirement,
};

}  // namespace loomproof
