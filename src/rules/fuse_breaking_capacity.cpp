// fuse-breaking-capacity: every fuse can break the largest current that a short can drive through it.
//
// docs/rules/fuse-breaking-capacity.md
#include "rules/list.h"
#include "rules/subject.h"
#include "units/print.h"

namespace loomproof {
namespace {

void judge_fuse_breaking_capacity(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (std::size_t i = 0; i < loom.elements.fuses.size(); ++i) {
    const Fuse& fuse = loom.elements.fuses[i];
    const FuseFault& fault = solved.fuse_faults[i];
    Obligation& owed = ledger.open(rule, subject_of(loom, fuse, loom.part(fuse.part).kind == "pack"));
    if (fault.voltage_v <= 0) {
      owed.holds("no source can drive a current through it");
      continue;
    }
    const std::string meets = show(Ampere(fault.largest_a));
    if (const auto& lacks = fault.untold ? fault.untold : fault.battery) {
      ask_supply(loom, *lacks, owed);
      continue;
    }
    if (!fuse.breaks_a) {
      owed.undecided(fmt::format("'{}' must break {} and its breaking capacity is not given", owed.subject.name, meets),
                     ask_for(loom, fuse, fuse.breaks_a, "2.5 kA at 80 V"));
      continue;
    }
    const std::string when = fmt::format("full pack, copper at {}", show(cold_start(loom)));
    const Figure figure{meets, show(Ampere(*fuse.breaks_a)), used_of_ceiling(fault.largest_a, *fuse.breaks_a)};
    const Place written = place_of(loom, fuse, fuse.breaks_a);
    if (fuse.breaks_v && *fuse.breaks_v < fault.voltage_v) {
      owed.broken(fmt::format("'{}' breaks {} at {} only, and {} stands behind it", owed.subject.name, figure.limit,
                              show(Volt(*fuse.breaks_v)), show(Volt(fault.voltage_v))),
                  Figure{show(Volt(fault.voltage_v)), show(Volt(*fuse.breaks_v)), fault.voltage_v / *fuse.breaks_v},
                  "full pack")
          .see(written, "breaking capacity")
          .fix(fmt::format("a {} that breaks {} at {}", opener_word(fuse), meets, show(Volt(fault.voltage_v))));
      continue;
    }
    if (figure.used <= 1) {
      owed.holds(figure, when);
      continue;
    }
    owed.broken(fmt::format("'{}' breaks {} and a short drives {} through it", owed.subject.name, figure.limit, meets),
                figure, when)
        .note(fmt::format("a {} past its breaking capacity {} and goes on conducting", opener_word(fuse),
                          fuse.curve == "electronic" ? "fails" : "bursts"))
        .see(written, "breaking capacity")
        .fix(fmt::format("a {} with a breaking capacity of at least {}", opener_word(fuse), meets));
  }
}

}  // namespace

const Rule fuse_breaking_capacity{
    .slug = "fuse-breaking-capacity",
    .group = Group::protection,
    .severity = Severity::danger,
    .promise = "Every fuse can break the largest current that a short can drive through it.",
    .judge = judge_fuse_breaking_capacity,
};

}  // namespace loomproof
