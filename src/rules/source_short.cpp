// source-short: in no switch state is a source shorted or asked for more than it gives.
//
// docs/rules/source-short.md
#include <cmath>

#include "rules/list.h"
#include "rules/subject.h"
#include "units/print.h"

namespace loomproof {
namespace {

// A source that gives half of what it gives shorted is as good as shorted.
constexpr double shorted_share = 0.5;

void judge_source(const Rule& rule, const Solved& solved, std::size_t i, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Source& s = loom.elements.sources[i];
  const Extreme& most = solved.extremes.source_out_a[i];
  if (!most) return;
  Obligation& owed = ledger.open(rule, subject_of(loom, s, loom.kind_of(loom.part(s.part)).inside.size() > 4));
  double limit_a = 0;
  if (s.limit_a) {
    limit_a = *s.limit_a;
  } else if (s.ohm && s.full_v && *s.ohm > 0) {
    limit_a = shorted_share * *s.full_v / *s.ohm;
  } else {
    owed.undecided(fmt::format("resistance of '{}' is not given", owed.subject.name),
                   ask_for(loom, s, s.ohm, "1.2 mohm"));
    return;
  }
  const Figure figure{show(Ampere(most.value)), show(Ampere(limit_a)), used_of_ceiling(most.value, limit_a)};
  const bool at_limit = s.limit_a && most.value >= limit_a * (1 - 1e-6);
  if (figure.used <= 1 && !at_limit) {
    owed.holds(figure, solved.describe(most));
    return;
  }
  // A charger runs at its limit by design.
  if (at_limit && s.zone == Zone::traction) {
    owed.holds("gives its limit, as a charger does");
    return;
  }
  owed.broken(s.limit_a
                  ? fmt::format("'{}' gives its limit of {} and its voltage falls", owed.subject.name, figure.limit)
                  : fmt::format("'{}' is shorted: {} flow", owed.subject.name, figure.value),
              Figure{figure.value, figure.limit, std::max(figure.used, 1 + 1e-6)}, solved.describe(most))
      .fix("look for a contact or a wire that joins its two poles in this situation");
}

void judge(const Rule& rule, const Solved& solved, Ledger& ledger) {
  for (std::size_t i = 0; i < solved.loom->elements.sources.size(); ++i) judge_source(rule, solved, i, ledger);
}

}  // namespace

const Rule source_short{
    .slug = "source-short",
    .group = Group::source,
    .severity = Severity::danger,
    .promise = "In no switch state is a source shorted or asked for more than it gives.",
    .judge = judge,
};

}  // namespace loomproof
