// Several judgements of one obligation: the worst one stands whole, with its own notes and its own remedy.
#pragma once

#include <utility>

#include "rules/ledger.h"

namespace loomproof {

/// Judges a fresh obligation of the same rule and subject with `judge(Obligation&)`, and keeps it when it is worse than
/// what `owed` says: broken before undecided before holds, then the larger share of the limit.
template <class Judge>
void keep_worse(Obligation& owed, const Judge& judge) {
  Obligation trial;
  trial.rule = owed.rule;
  trial.subject = owed.subject;
  judge(trial);
  if (!trial.verdict) return;
  const auto rank = [](const Obligation& o) {
    return !o.verdict ? 0 : *o.verdict == Verdict::holds ? 1 : *o.verdict == Verdict::undecided ? 2 : 3;
  };
  const auto used = [](const Obligation& o) { return o.figure ? o.figure->used : 0; };
  if (rank(trial) > rank(owed) || (rank(trial) == rank(owed) && used(trial) > used(owed))) owed = std::move(trial);
}

}  // namespace loomproof
