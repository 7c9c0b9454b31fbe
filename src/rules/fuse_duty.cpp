// fuse-duty: every fuse carries what the duty asks of it without ageing or opening.
//
// Held currents at most 80 % of the rating at the hottest ambient (common practice); over a ride the r.m.s. current
// counts, and no step may last as long as the fastest fuse of its kind needs to open. docs/rules/fuse-duty.md
#include "solve/fuse_duty.h"

#include <cmath>
#include <set>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/fuse_band.h"
#include "solve/inrush.h"
#include "solve/opened.h"
#include "solve/supply.h"
#include "units/print.h"

namespace loomproof {
namespace {

// Largest let-through of what surges through the fuse at every start: a capacitance without precharge, cold lamps.
struct FuseSurge {
  double let_through_a2s = 0;
  std::optional<PartIndex> into;
  bool lamps = false;
};

// The lamps that hang on the fuse in one point, taken to be switched on all together.
FuseSurge lamp_surge(const Solved& solved, const Branch& fuse, const OperatingPoint& point) {
  FuseSurge out;
  double extra_a = 0, most_a = 0;
  for (std::size_t i : downstream_of(solved, fuse, point).loads) {
    const Load& load = solved.loom->elements.loads[i];
    const double amps = std::fabs(point.load_a[i]);
    if (!load.channel.empty() || !load.inrush || *load.inrush <= 1 || amps <= 0) continue;
    const double own_a = amps * (*load.inrush - 1);
    extra_a += own_a;
    if (own_a > most_a) most_a = own_a, out.into = load.part;
  }
  const double through_a = std::fabs(branch_current_a(solved.circuit, point, fuse));
  out.let_through_a2s = lamp_surge_let_through_a2s(Ampere(through_a), Ampere(extra_a));
  out.lamps = true;
  return out;
}

// Looked for where the fuse carries most with each of the lamps on, without any duty.
void add_lamp_surges(const Solved& solved, std::vector<FuseSurge>& out) {
  const Circuit& circuit = solved.circuit;
  const auto& loads = solved.loom->elements.loads;
  std::vector<std::size_t> surging;
  for (std::size_t l = 0; l < loads.size(); ++l) {
    if (loads[l].inrush && *loads[l].inrush > 1) surging.push_back(l);
  }
  if (surging.empty()) return;
  for (const Branch& fuse : circuit.branches) {
    if (fuse.type != BranchType::fuse) continue;
    std::vector<double> most_a(surging.size(), 0);
    std::vector<const OperatingPoint*> at(surging.size(), nullptr);
    for (const OperatingPoint& point : solved.points) {
      if (point.situation.duty) continue;
      const double amps = std::fabs(branch_current_a(circuit, point, fuse));
      for (std::size_t i = 0; i < surging.size(); ++i) {
        if (point.load_a[surging[i]] == 0 || amps <= most_a[i]) continue;
        most_a[i] = amps;
        at[i] = &point;
      }
    }
    for (const OperatingPoint* point : std::set<const OperatingPoint*>(at.begin(), at.end())) {
      if (point == nullptr) continue;
      const FuseSurge surge = lamp_surge(solved, fuse, *point);
      if (surge.into && surge.let_through_a2s > out[fuse.index].let_through_a2s) out[fuse.index] = surge;
    }
  }
}

std::vector<FuseSurge> surges_of(const Solved& solved) {
  const Loom& loom = *solved.loom;
  const Circuit& circuit = solved.circuit;
  std::vector<FuseSurge> out(loom.elements.fuses.size());
  const BranchFilter passes = [&](const Branch& b) { return is_conductor(circuit, b); };
  for (const auto& [closing, situations, runs] : solved.chargings) {
    const Capacitance& bank = loom.elements.capacitances[closing.capacitance];
    if (closing.precharge_ohm || !closing.source_known || !bank.farad || *bank.farad <= 0) continue;
    const double a2s =
        capacitor_inrush(Volt(closing.source_v), Ohm(closing.loop_ohm), Farad(*bank.farad)).let_through_a2s;
    const auto surges = [&](std::size_t i) {
      const Branch& b = circuit.branches[i];
      if (b.type == BranchType::fuse && a2s > out[b.index].let_through_a2s) out[b.index] = {a2s, bank.part, false};
    };
    for (const SupplyPoles& supply : supply_poles(circuit)) {
      for (const auto& [from, to] :
           {std::pair(circuit.node(bank.a), supply.pos), std::pair(circuit.node(bank.b), supply.neg)}) {
        for (std::size_t i : walk_between(solved.graph, circuit, from, to, passes)) surges(i);
      }
    }
    for (std::size_t i : closing.links) surges(i);
  }
  add_lamp_surges(solved, out);
  return out;
}

// Ten thousand starts are ten years of daily use.
constexpr double most_starts = 10000;

void judge_surge(const Loom& loom, const Fuse& fuse, const OpenerCurve& curve, const FuseSurge& surge,
                 Obligation& owed) {
  const auto melting_a2s = melting_let_through(curve).least_a2s;
  if (!surge.into || !melting_a2s || owed.verdict != Verdict::holds) return;
  const double share = surge.let_through_a2s / *melting_a2s;
  const double allowed = pulse_share_allowed(most_starts);
  const Figure figure{fmt::format("{:.0f} % of the melting I2t", share * 100), fmt::format("{:.0f} %", allowed * 100),
                      share / allowed};
  if (figure.used <= 1) return;
  owed.broken(fmt::format("every start drives {:.3g} A2s through '{}', which melts at {:.3g} A2s",
                          surge.let_through_a2s, owed.subject.name, *melting_a2s),
              figure, surge.lamps ? "lamps cold, switched on together" : "full pack, capacitance empty")
      .note(share > 1 ? "the fastest of its kind opens at the first start"
                      : "it ages with every start and opens one day without a fault")
      .see(loom.part(*surge.into).at,
           surge.lamps ? "the largest surge of them is this one's" : "the capacitance is in here")
      .see(place_of(loom, fuse, fuse.rated_a), "rated current")
      .fix(surge.lamps
               ? "a slower fuse, lamps of light-emitting diodes, or a larger fuse if every wire behind it allows one"
               : "precharge the capacitance, or a larger or slower fuse if every wire behind it allows one");
}

void judge_fuse(const Loom& loom, const Fuse& fuse, const std::vector<FuseDuty>& duties, const FuseSurge& surge,
                Obligation& owed) {
  if (!fuse.rated_a) {
    owed.undecided(fmt::format("rated current of '{}' is not given", owed.subject.name),
                   ask_for(loom, fuse, fuse.rated_a, "10 A"));
    return;
  }
  const auto band = curve_of(loom, fuse);
  if (!band) {
    owed.undecided(fmt::format("the {} of '{}' is not given", curve_ask(fuse).what, owed.subject.name),
                   fmt::format("write {} in part '{}'", curve_ask(fuse).write, loom.part(fuse.part).name));
    return;
  }
  const OpenerCurve hot = at_ambient(*band, ambient_of(loom));
  const bool electronic = fuse.curve == "electronic";  // ages by nothing, and knows no warm holder
  const double allowed_a = (electronic ? 1 : continuous_share_usual) * hot.rated.value;
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
          .note(electronic ? std::string("above that it trips")
                           : fmt::format("{:.0f} % of its {} at {} around it", continuous_share_usual * 100,
                                         show(Ampere(*fuse.rated_a)), show(ambient_of(loom))))
          .see(written, "rated current")
          .fix(fmt::format("a {} with a higher rating, if every wire behind it allows one", opener_word(fuse)));
    } else if (load.opening_share > 1) {
      owed.broken(fmt::format(
                      "'{}' may open in the middle of the ride: its peaks last {:.1f} times as long as the fastest of "
                      "its kind stands them",
                      owed.subject.name, load.opening_share),
                  Figure{fmt::format("{:.0f} % of the time to opening", load.opening_share * 100), "100 %",
                         load.opening_share},
                  duty.when)
          .see(written, "rated current")
          .fix(fmt::format("a slower or larger {}, if every wire behind it allows one", opener_word(fuse)));
    } else {
      owed.holds(rms, duty.when);
    }
    if (owed.verdict == Verdict::broken) return;
  }
  judge_surge(loom, fuse, *band, surge, owed);
}

void judge_fuse_duty(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const auto duties = fuse_duties(loom, solved.circuit, solved.points);
  const auto surges = surges_of(solved);
  for (std::size_t i = 0; i < loom.elements.fuses.size(); ++i) {
    const Fuse& fuse = loom.elements.fuses[i];
    Obligation& owed = ledger.open(rule, subject_of(loom, fuse, loom.part(fuse.part).kind == "pack"));
    judge_fuse(loom, fuse, duties[i], surges[i], owed);
  }
}

}  // namespace

const Rule fuse_duty{
    .slug = "fuse-duty",
    .group = Group::protection,
    .severity = Severity::nuisance,
    .promise = "Every fuse carries what the duty asks of it without ageing or opening.",
    .judge = judge_fuse_duty,
};

}  // namespace loomproof
