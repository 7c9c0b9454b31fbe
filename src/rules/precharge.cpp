// precharge: no contact closes a source onto an empty capacitance beyond what it may make.
//
// Without a resistor around the contact the peak is V / (source and leads). With one, the whole loom is charged in
// time: the contact closes late enough and at all. docs/rules/precharge.md
#include "solve/precharge.h"

#include <algorithm>
#include <cmath>

#include "rules/list.h"
#include "rules/subject.h"
#include "rules/worse.h"
#include "solve/charging.h"
#include "solve/inrush.h"
#include "units/print.h"

namespace loomproof {
namespace {

// Close at 95 % (common practice among makers of contactors).
constexpr double left_share = 0.05;
// A driver waits no longer than this for the vehicle to come alive (common practice, no source).
constexpr double most_wait_s = 30;

struct Case {
  const Solved& solved;
  const Closing& closing;
  const Contact& contact;
  const Capacitance& bank;
  std::string bank_name;
};

bool is_by_hand(const Condition& c) {
  if (c.op == Condition::Op::position) return true;
  return std::any_of(c.of.begin(), c.of.end(), is_by_hand);
}

void judge_bare(const Case& c, Obligation& owed) {
  const Loom& loom = *c.solved.loom;
  const CapacitorInrush inrush =
      capacitor_inrush(Volt(c.closing.source_v), Ohm(c.closing.loop_ohm), Farad(*c.bank.farad));
  const Datum& makes = c.contact.makes_a ? c.contact.makes_a : c.contact.carries_a;
  const Figure figure{show(inrush.peak), makes ? show(Ampere(*makes)) : "no precharge",
                      makes ? used_of_ceiling(inrush.peak.value, *makes) : 1e6};
  const std::string when = fmt::format("full pack, capacitance empty, copper at {}", show(cold_start(loom)));
  if (c.closing.source_known && makes && figure.used <= 1) {
    owed.holds(figure, when);
    return;
  }
  owed.broken(fmt::format("'{}' closes onto the empty {} of '{}' without precharge", owed.subject.name,
                          show(Farad(*c.bank.farad)), c.bank_name),
              figure, when)
      .note(c.closing.source_known
                ? fmt::format("{} peak, {} in the contact and the leads", show(inrush.peak), show(inrush.energy))
                : "the peak cannot be told while the resistance of the source is not given")
      .note("such a spark welds contacts")
      .see(loom.part(c.bank.part).at, "the capacitance is in here")
      .fix("put a resistor with its own relay around the contact and close it first");
}

// A resistor that would do with what hangs on the bus.
std::string proposal(const Case& c, const PrechargeRun& run) {
  PrechargeCircuit circuit;
  circuit.source = Volt(c.closing.source_v);  // the watts are those at full charge
  circuit.source_resistance = Ohm(c.closing.loop_ohm);
  circuit.resistor = Ohm(*c.closing.precharge_ohm);
  circuit.capacitance = Farad(run.farad);
  circuit.leakage = Ampere(run.load_a);
  const double wanted_s = run.closes_s && *run.closes_s > 0.1 ? *run.closes_s : 1;
  const auto found = propose_resistor(circuit, Second(wanted_s), std::nullopt);
  if (!found) {
    return run.drawn_by
               ? fmt::format("let nothing draw from the bus before the contact has closed: switch '{}' on later",
                             c.solved.loom->parts[*run.drawn_by].name)
               : std::string("let nothing draw from the bus before the contact has closed");
  }
  return fmt::format("{} and {} in its place have the bus at 95 % after {}", show(found->ohms), show(found->watts),
                     show(found->reaches));
}

void judge_never(const Case& c, const PrechargeRun& run, const std::string& where, Obligation& owed) {
  const double needed_v = (1 - left_share) * run.source_v;
  Obligation& broken =
      owed.broken(fmt::format("'{}' never closes: the bus of '{}' comes to {} of {}", owed.subject.name, c.bank_name,
                              show(Volt(run.settles_v)), show(Volt(run.source_v))),
                  run.stalls ? std::optional(Figure{show(Volt(run.settles_v)), show(Volt(needed_v)),
                                                    used_of_floor(run.settles_v, needed_v)})
                             : std::nullopt,
                  where);
  if (run.stalls && run.drawn_by) {
    broken.note(fmt::format("'{}' {} through {}", c.solved.loom->parts[*run.drawn_by].name,
                            run.hunts ? "starts, pulls the bus down and stops, again and again," : "draws its current",
                            show(Ohm(*c.closing.precharge_ohm))));
  }
  broken.fix(run.stalls ? proposal(c, run) : "a threshold below what the bus reaches, and its coil on a live supply");
}

// Whether the resistor carries anything, at the start or at the end.
bool precharge_flows(const Case& c, const PrechargeRun& run) {
  const double least_a = 0.01 * run.source_v / *c.closing.precharge_ohm;
  return std::any_of(run.stretches.begin(), run.stretches.end(), [&](const ChargingStretch& s) {
    return std::any_of(s.from_resistor_a.begin(), s.from_resistor_a.end(),
                       [&](double amps) { return std::fabs(amps) > least_a; });
  });
}

// A coil that is fed, and never enough: supply-voltage has it.
bool coil_falls_short(const Case& c) {
  constexpr double fed_v = 2;
  const Condition& when = c.contact.closed_when;
  if (when.op != Condition::Op::coil) return false;
  const Extreme& highest = c.solved.extremes.coil_high_v[when.index];
  return highest && highest.value > fed_v && !c.solved.extremes.coil_low_v[when.index];
}

void judge_run(const Case& c, const PrechargeRun& run, const std::string& where, Obligation& owed) {
  const Loom& loom = *c.solved.loom;
  if (run.unknown_gate) {
    const Contact& gate = loom.elements.contacts[*run.unknown_gate];
    owed.undecided(fmt::format("when '{}' closes '{}' is not given", loom.part(gate.part).name, owed.subject.name),
                   fmt::format("write `closes_main_above: 50 V` or `closes_main_after: 1 s` in part '{}'",
                               loom.part(gate.part).name));
    return;
  }
  if (!run.closes_s && (!precharge_flows(c, run) || coil_falls_short(c))) {
    owed.holds("it or its precharge never gets its coil: supply-voltage and duty-reached speak of that");
    return;
  }
  if (!run.closes_s) {
    judge_never(c, run, where, owed);
    return;
  }
  const double left_v = run.source_v - run.closes_v;
  const double limit_v = left_share * c.closing.source_v;
  const double peak_a = left_v / c.closing.loop_ohm;
  const Figure left{show(Volt(left_v)), show(Volt(limit_v)), used_of_ceiling(left_v, limit_v)};
  const bool makes_it = c.closing.source_known && c.contact.makes_a && peak_a <= *c.contact.makes_a;
  if (left.used > 1 && !makes_it) {
    const std::string delay = run.closes_v > 0.01 * run.source_v
                                  ? fmt::format("after {}, with {} of '{}' still missing", show(Second(*run.closes_s)),
                                                left.value, c.bank_name)
                                  : fmt::format("together with its precharge, onto the empty bus of '{}'", c.bank_name);
    owed.broken(fmt::format("'{}' closes {}", owed.subject.name, delay), left, where);
    if (c.closing.source_known)
      owed.note(fmt::format("about {} at that moment; such a spark welds contacts", show(Ampere(peak_a))));
    owed.note(run.to_fraction_s ? fmt::format("the bus has 95 % after {}", show(Second(*run.to_fraction_s)))
                                : fmt::format("the bus comes to {} and no higher", show(Volt(run.settles_v))));
    if (!run.to_fraction_s) {
      owed.fix(proposal(c, run));
    } else {
      owed.fix(fmt::format("let it close once the bus has come within {} of the pack, or not before {}", left.limit,
                           show(Second(*run.to_fraction_s))));
    }
    if (run.closes_v <= 0.01 * run.source_v) owed.as(Severity::danger);
    return;
  }
  if (*run.closes_s > most_wait_s) {
    const Figure wait{show(Second(*run.closes_s)), show(Second(most_wait_s)), *run.closes_s / most_wait_s};
    owed.broken(fmt::format("'{}' closes only {} after switching on", owed.subject.name, wait.value), wait, where)
        .note(fmt::format("{} and {}: a time constant of {}", show(Ohm(*c.closing.precharge_ohm)),
                          show(Farad(run.farad)), show(Second(*c.closing.precharge_ohm * run.farad))))
        .fix(proposal(c, run))
        .as(Severity::nuisance);
    return;
  }
  if (left.used <= 1) {
    owed.holds(left, where);
  } else {
    owed.holds(Figure{show(Ampere(peak_a)), show(Ampere(*c.contact.makes_a)), peak_a / *c.contact.makes_a}, where);
  }
}

void judge_closing(const Solved& solved, const Charging& charging, Obligation& owed) {
  const Closing& closing = charging.closing;
  const Loom& loom = *solved.loom;
  const Capacitance& bank = loom.elements.capacitances[closing.capacitance];
  const Case c{solved, closing, loom.elements.contacts[closing.contact], bank, loom.part(bank.part).name};
  if (!bank.farad) {
    owed.undecided(fmt::format("'{}' closes onto '{}', whose capacitance is not given", owed.subject.name, c.bank_name),
                   ask_for(loom, bank, bank.farad, "2200 uF"));
    return;
  }
  if (!closing.precharge_ohm) {
    judge_bare(c, owed);
    return;
  }
  if (is_by_hand(c.contact.closed_when)) {
    owed.broken(fmt::format("'{}' is closed by hand, and nothing makes the hand wait for the precharge of '{}'",
                            owed.subject.name, c.bank_name))
        .note(fmt::format("{} until 95 %", show(Second(3 * *closing.precharge_ohm * *bank.farad))))
        .fix("a contactor that closes by bus voltage or by a time relay")
        .as(Severity::nuisance);
    return;
  }
  std::string trouble;
  for (std::size_t i = 0; i < charging.runs.size(); ++i) {
    const Situation& situation = charging.situations[i];
    const PrechargeRun& run = charging.runs[i];
    if (run.trouble.empty()) {
      keep_worse(owed, [&](Obligation& trial) { judge_run(c, run, solved.describe(situation), trial); });
    } else {
      trouble = ": " + run.trouble;
    }
  }
  if (!owed.verdict) {
    owed.undecided(fmt::format("the charging of '{}' did not come to an end{}", c.bank_name, trouble),
                   "see what comes-to-rest says");
  }
}

void judge_precharge(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (const Charging& charging : solved.chargings) {
    const Contact& contact = loom.elements.contacts[charging.closing.contact];
    judge_closing(solved, charging, ledger.open(rule, subject_of(loom, contact, false)));
  }
  // A converter's input stage has a capacitance whether or not the file says so.
  for (const Converter& c : loom.elements.converters) {
    const Part& part = loom.part(c.part);
    if (part.find("capacitance") != nullptr || part.find("inrush") != nullptr) continue;
    if (!is_wired(loom, c.in_pos)) continue;
    ledger.open(rule, subject_of(loom, c.part))
        .undecided(
            fmt::format("what '{}' draws when its input is switched on is not given", part.name),
            fmt::format("write `inrush: 15 A` (where it limits it by itself) or `capacitance: 220 uF` in part '{}'",
                        part.name));
  }
}

}  // namespace

const Rule precharge{
    .slug = "precharge",
    .group = Group::inrush,
    .severity = Severity::damage,
    .promise = "No contact closes a source onto an empty capacitance beyond what it may make.",
    .judge = judge_precharge,
};

}  // namespace loomproof
