// pack-current: a pack gives and takes no more than its cells stand, for as long as every duty point lasts.
//
// Over a ride the r.m.s. current counts against what it gives for ever, and every stretch above that against the peak
// and its time. docs/rules/pack-current.md
#include <algorithm>
#include <cmath>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/pack_duty.h"
#include "units/print.h"

namespace loomproof {
namespace {

constexpr double least_judged_a = 0.05;

Subject named(const Loom& loom, PartIndex part, const char* what) {
  Subject subject = subject_of(loom, part);
  subject.name += std::string(".") + what;
  return subject;
}

double rms_of(const PackDuty& duty) {
  double squares = 0, time = 0;
  for (const PackStretch& s : duty.stretches) {
    const double lasts = s.lasts ? s.lasts->value : 1;
    const double amps = std::max(s.out_a, s.in_a);
    squares += amps * amps * lasts;
    time += lasts;
  }
  return time > 0 ? std::sqrt(squares / time) : 0;
}

// The longest run of neighbouring stretches above `above_a`; a ride is repeated, so its end joins its start.
struct Peak {
  double amps = 0;
  Second lasts{};
  bool for_ever = false;
  std::string when;
};
Peak longest_above(const PackDuty& duty, double above_a) {
  Peak longest, run;
  const std::size_t n = duty.stretches.size();
  std::size_t running = 0;
  for (std::size_t i = 0; i < (n > 1 ? 2 * n : 1); ++i) {
    const PackStretch& s = duty.stretches[i % n];
    if (s.out_a <= above_a) {
      run = {};
      running = 0;
      continue;
    }
    run.for_ever = !s.lasts || (n > 1 && ++running > n);
    if (s.lasts) run.lasts = run.lasts + *s.lasts;
    if (s.out_a > run.amps) {
      run.amps = s.out_a;
      run.when = s.when;
    }
    if (run.for_ever) return run;
    if (run.lasts > longest.lasts) longest = run;
  }
  return longest;
}

void judge_peak(const Loom& loom, const Source& s, const Peak& peak, Obligation& owed) {
  const std::string gives = show(Ampere(peak.amps));
  if (!s.peak_a || !s.peak_s) {
    owed.undecided(fmt::format("'{}' gives {}, more than for ever, and what it gives for a short time is not given",
                               loom.part(s.part).name, gives),
                   ask_for(loom, s, s.peak_a, "300 A for 10 s"));
    return;
  }
  if (peak.amps > *s.peak_a) {
    owed.broken(fmt::format("'{}' gives {} and its peak is {}", loom.part(s.part).name, gives, show(Ampere(*s.peak_a))),
                Figure{gives, show(Ampere(*s.peak_a)), peak.amps / *s.peak_a}, peak.when)
        .see(place_of(loom, s, s.peak_a), "peak current")
        .fix("lower the controller's battery limit, or a pack with more cells in parallel");
    return;
  }
  const std::string lasts = peak.for_ever ? "for ever" : show(peak.lasts);
  const double used = peak.for_ever ? 1e6 : peak.lasts.value / *s.peak_s;
  const Figure figure{lasts, show(Second(*s.peak_s)), used};
  if (used <= 1) {
    owed.holds(figure, peak.when);
    return;
  }
  owed.broken(fmt::format("'{}' gives {} {}{} and stands that for {}", loom.part(s.part).name, gives,
                          peak.for_ever ? "" : "for ", lasts, show(Second(*s.peak_s))),
              figure, peak.when)
      .see(place_of(loom, s, s.peak_a), "peak current and its time")
      .fix("lower the controller's battery limit, or a pack with more cells in parallel");
}

void judge_giving(const Loom& loom, const Source& s, const std::vector<PackDuty>& duties, Obligation& owed) {
  double most_a = 0;
  for (const PackDuty& duty : duties) {
    for (const PackStretch& stretch : duty.stretches) most_a = std::max(most_a, stretch.out_a);
  }
  if (most_a < least_judged_a) {
    owed.holds("nothing draws a current from it in any situation");
    return;
  }
  if (!s.continuous_a) {
    owed.undecided(fmt::format("'{}' gives up to {} and what it gives for ever is not given", loom.part(s.part).name,
                               show(Ampere(most_a))),
                   ask_for(loom, s, s.continuous_a, "100 A"));
    return;
  }
  for (const PackDuty& duty : duties) {
    const double rms_a = rms_of(duty);
    const std::string when = duty.stretches.size() > 1 ? "ride '" + duty.name + "'" : duty.stretches.front().when;
    const Figure rms{show(Ampere(rms_a)), show(Ampere(*s.continuous_a)), used_of_ceiling(rms_a, *s.continuous_a)};
    const Peak peak = longest_above(duty, *s.continuous_a);
    if (peak.amps > 0 && (rms.used <= 1 || duty.stretches.size() == 1)) {
      if (duty.stretches.size() > 1 || (s.peak_a && s.peak_s)) {
        judge_peak(loom, s, peak, owed);
        if (owed.verdict != Verdict::holds) return;
        continue;
      }
    }
    if (rms.used > 1) {
      owed.broken(
              fmt::format("'{}' gives {} for long and is made for {}", loom.part(s.part).name, rms.value, rms.limit),
              rms, when)
          .see(place_of(loom, s, s.continuous_a), "current for ever")
          .fix("a gentler duty, or a pack with more cells in parallel");
      return;
    }
    if (!owed.figure || rms.used > owed.figure->used) owed.holds(rms, when);
  }
}

void judge_taking(const Loom& loom, const Source& s, const std::vector<PackDuty>& duties, Obligation& owed) {
  const PackStretch* most = nullptr;
  for (const PackDuty& duty : duties) {
    for (const PackStretch& stretch : duty.stretches) {
      if (most == nullptr || stretch.in_a > most->in_a) most = &stretch;
    }
  }
  if (most == nullptr || most->in_a < least_judged_a) {
    owed.holds("nothing charges it in any situation");
    return;
  }
  const std::string takes = show(Ampere(most->in_a));
  if (!s.charge_a) {
    owed.undecided(
        fmt::format("'{}' is charged with up to {} and what it may take is not given", loom.part(s.part).name, takes),
        ask_for(loom, s, s.charge_a, "40 A"));
    return;
  }
  const Figure figure{takes, show(Ampere(*s.charge_a)), used_of_ceiling(most->in_a, *s.charge_a)};
  if (figure.used <= 1) {
    owed.holds(figure, most->when);
    return;
  }
  owed.broken(fmt::format("'{}' is charged with {} and may take {}", loom.part(s.part).name, takes, figure.limit),
              figure, most->when)
      .note("lithium plates out on cells that are charged too fast, and they fail later without a warning")
      .see(place_of(loom, s, s.charge_a), "largest charging current")
      .fix("a lower regeneration limit, or a smaller charger")
      .as(Severity::danger);
}

void judge_pack_current(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (const PackPoles& pack : packs_of(solved.circuit)) {
    const Source& s = loom.elements.sources[pack.source];
    const auto duties = pack_duties(solved.circuit, solved.points, pack);
    judge_giving(loom, s, duties, ledger.open(rule, named(loom, pack.part, "continuous")));
    judge_taking(loom, s, duties, ledger.open(rule, named(loom, pack.part, "charge")));
  }
}

}  // namespace

const Rule pack_current{
    .slug = "pack-current",
    .group = Group::source,
    .severity = Severity::damage,
    .promise = "A pack gives and takes no more than its cells stand, for as long as every duty point lasts.",
    .judge = judge_pack_current,
};

}  // namespace loomproof
