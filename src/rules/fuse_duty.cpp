// fuse-duty: every fuse carries what the duty asks of it without ageing or opening.
//
// Held currents at most 80 % of the rating at the hottest ambient (common practice); over a ride the r.m.s. current
// counts, and no step may last as long as the fastest fuse of its kind needs to open. docs/rules/fuse-duty.md
#include "solve/fuse_duty.h"
#include "rules/list.h"
#include "rules/subject.h"
#include "units/print.h"

namespace loomproof {
namespace {

Celsius ambient_of(const Loom& loom) {
  return loom.ambient ? loom.ambient->value : Celsius(40);
}

void judge_fuse(const Loom& loom, const Fuse& fuse, const std::vector<FuseDuty>& duties, Obligation& owed) {
  if (!fuse.rated_a) {
    owed.undecided(fmt::format("rated current of '{}' is not given", owed.subject.name),
                   ask_for(loom, fuse, fuse.rated_a, "10 A"));
    return;
  }
  const auto band = curve_of(loom, fuse);
  if (!band) {
    owed.undecided(fmt::format("the time-current curve of '{}' is not given", owed.subject.name),
                   fmt::format("write `curve: blade` (or bolt-in, cartridge) in part '{}'", loom.part(fuse.part).name));
    return;
  }
  const OpenerCurve hot = at_ambient(*band, ambient_of(loom));
  const double allowed_a = continuous_share_usual * hot.rated.value;
  owed.holds("no duty drives a current through it");
  for (const FuseDuty& duty : duties) {
    const DutyLoad load = duty_load(hot, duty.stretches);
    if (load.rms_a <= 0) continue;
    const Figure rms{show(Ampere(load.rms_a)), show(Ampere(allowed_a)), load.rms_a / allowed_a};
    const Place written = place_of(loom, fuse, fuse.rated_a);
    if (rms.used > 1) {
      owed.broken(fmt::format("'{}' carries {} and {} is what it should carry for long", owed.subject.name, rms.value,
                              rms.limit),
                  rms, duty.when)
          .note(fmt::format("{:.0f} % of its {} at {} around it", continuous_share_usual * 100,
                            show(Ampere(*fuse.rated_a)), show(ambient_of(loom))))
          .see(written, "rated current")
          .fix("a fuse with a higher rating, if every wire behind it allows one");
    } else if (load.opening_share > 1) {
      owed.broken(fmt::format(
                      "'{}' may open in the middle of the ride: its peaks last {:.1f} times as long as the fastest of "
                      "its kind stands them",
                      owed.subject.name, load.opening_share),
                  Figure{fmt::format("{:.0f} % of the time to opening", load.opening_share * 100), "100 %",
                         load.opening_share},
                  duty.when)
          .see(written, "rated current")
          .fix("a slower or larger fuse, if every wire behind it allows one");
    } else {
      owed.holds(rms, duty.when);
    }
  }
}

void judge(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const auto duties = fuse_duties(loom, solved.circuit, solved.points);
  for (std::size_t i = 0; i < loom.elements.fuses.size(); ++i) {
    const Fuse& fuse = loom.elements.fuses[i];
    Obligation& owed = ledger.open(rule, subject_of(loom, fuse, loom.part(fuse.part).kind == "pack"));
    judge_fuse(loom, fuse, duties[i], owed);
  }
}

}  // namespace

const Rule fuse_duty{
    .slug = "fuse-duty",
    .group = Group::protection,
    .severity = Severity::nuisance,
    .promise = "Every fuse carries what the duty asks of it without ageing or opening.",
    .judge = judge,
};

}  // namespace loomproof
