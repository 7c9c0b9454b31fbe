// Which values could mend what a trial shows to be past its limit: the constraints that every holding choice satisfies.
#pragma once

#include <vector>

#include "size/problem.h"
#include "size/trial.h"

namespace loomproof {

struct Causes {
  std::vector<Clause> clauses;
  std::vector<Budget> budgets;
  std::vector<Obligation> beyond;  // broken, and no free value has to do with it

  bool none() const { return clauses.empty() && budgets.empty(); }
};

/// Rule by rule:
/// - wire-heat: a larger wire; in a bundle a larger mate may do as well.
/// - fuse-protects-wire: a larger wire, as long as the fuses that are above `lows` stay there; a fixed wire forbids the
///   fuse instead.
/// - unfused-source-lead: a larger wire of the lead, where its source limits itself below what that carries.
/// - fuse-duty, contact-ratings: a larger rating.
/// - voltage-drop, supply-voltage (too low): volts along the way out and back in the situation that came closest, with
///   its currents; wires and fuses on that way share what may be lost.
/// - any other rule: whatever value stands at its subject or at a place that its notes point to.
/// A value that only comes closer to a limit than the margin allows counts as past it where a value has to do with it.
Causes causes_of(const Ground&, const Choice& now, const Choice& lows, const Trial&);

/// By wire: whether something that only the wire's own size has to do with is past its limit.
std::vector<char> wires_past_limit(const Ground&, const Trial&);

/// How much of the rating every fuse and contact uses, by value: needed rating = amount * used. 0 where nothing is
/// known.
std::vector<double> used_ratings(const Ground&, const Choice& now, const Trial&);

}  // namespace loomproof
