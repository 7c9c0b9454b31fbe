// input-level: no input of a controller sees more voltage than it stands, also under every single fault.
//
// docs/rules/input-level.md
#include <algorithm>

#include "rules/list.h"
#include "rules/story.h"
#include "rules/subject.h"
#include "units/print.h"

namespace loomproof {
namespace {

// Counts only when the input holds without a fault: a second verdict on it can only be worse.
void judge_faults(const Solved& solved, std::size_t input, Obligation& owed, Ledger& ledger) {
  for (const WatchResult& w : solved.faults->watches) {
    if (w.watch.what != Watch::What::level || w.watch.index != input) continue;
    if (w.by_fault.empty() && w.unsettled == 0) continue;
    double most = 0;
    for (const Sighting& s : w.by_fault) most = std::max(most, s.value);
    StoryWords words;
    words.happens = fmt::format("'{}' sees up to {} and stands {}", owed.subject.name, show(Volt(most)),
                                show(Volt(*solved.loom->elements.inputs[input].max_v)));
    words.stays = fmt::format("'{}' stays below what it stands", owed.subject.name);
    words.fix = "keep pins of different voltages apart in a connector, and give the input a supply that it stands";
    words.silent = words.with_sign;
    judge_watch(solved, w, words, owed, ledger);
  }
}

void judge_input_level(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (std::size_t i = 0; i < loom.elements.inputs.size(); ++i) {
    const Input& input = loom.elements.inputs[i];
    if (!is_wired(loom, input.terminal) || input.analogue) continue;
    Obligation& owed = ledger.open(rule, subject_of(loom, input, true));
    const Extreme& highest = solved.extremes.input_high_v[i];
    if (!highest) {
      owed.undecided(fmt::format("what '{}' sees cannot be told: nothing ties it to '{}'", owed.subject.name,
                                 loom.title(input.reference)),
                     fmt::format("wire '{}' to the return of what feeds the input", loom.title(input.reference)));
      continue;
    }
    if (!input.max_v) {
      owed.undecided(
          fmt::format("'{}' sees {} and what it stands is not given", owed.subject.name, show(Volt(highest.value))),
          ask_for(loom, input, input.max_v, "16 V"));
      continue;
    }
    const Figure figure{show(Volt(highest.value)), show(Volt(*input.max_v)),
                        used_of_ceiling(highest.value, *input.max_v)};
    if (figure.used <= 1) {
      owed.holds(figure, solved.describe(highest));
      judge_faults(solved, i, owed, ledger);
      continue;
    }
    owed.broken(fmt::format("'{}' sees {} and stands {}", owed.subject.name, figure.value, figure.limit), figure,
                solved.describe(highest))
        .see(place_of(loom, input, input.max_v), "what it stands")
        .fix("drive it from a supply that it stands, or through a relay");
  }
}

}  // namespace

const Rule input_level{
    .slug = "input-level",
    .group = Group::control,
    .severity = Severity::damage,
    .promise = "No input of a controller sees more voltage than it stands, also under every single fault.",
    .judge = judge_input_level,
};

}  // namespace loomproof
