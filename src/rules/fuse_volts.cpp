// fuse-volts: every fuse is rated for the largest direct voltage that it may have to break, at full charge.
//
// docs/rules/fuse-volts.md
#include "rules/list.h"
#include "rules/subject.h"
#include "units/print.h"

namespace loomproof {
namespace {

void judge_fuse_volts(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (std::size_t i = 0; i < loom.elements.fuses.size(); ++i) {
    const Fuse& fuse = loom.elements.fuses[i];
    const double needed_v = solved.fuse_faults[i].voltage_v;
    Obligation& owed = ledger.open(rule, subject_of(loom, fuse, loom.part(fuse.part).kind == "pack"));
    if (needed_v <= 0) {
      owed.holds("no source can drive a current through it");
      continue;
    }
    if (!fuse.volts_v) {
      owed.undecided(
          fmt::format("'{}' must break {} and its rated voltage is not given", owed.subject.name, show(Volt(needed_v))),
          ask_for(loom, fuse, fuse.volts_v, "80 V"));
      continue;
    }
    const Figure figure{show(Volt(needed_v)), show(Volt(*fuse.volts_v)), used_of_ceiling(needed_v, *fuse.volts_v)};
    if (figure.used <= 1) {
      owed.holds(figure, "full pack");
      continue;
    }
    owed.broken(fmt::format("'{}' is rated {} d.c. and must break {}", owed.subject.name, figure.limit, figure.value),
                figure, "full pack")
        .note(fmt::format("a {} below the voltage of its circuit {} instead of opening", opener_word(fuse),
                          fuse.curve == "electronic" ? "breaks down" : "keeps arcing"))
        .see(place_of(loom, fuse, fuse.volts_v), "rated voltage")
        .fix(fmt::format("a {} rated for at least {} d.c.", opener_word(fuse), show(Volt(needed_v))));
  }
}

}  // namespace

const Rule fuse_volts{
    .slug = "fuse-volts",
    .group = Group::protection,
    .severity = Severity::danger,
    .promise = "Every fuse is rated for the largest direct voltage that it may have to break, at full charge.",
    .judge = judge_fuse_volts,
};

}  // namespace loomproof
