// contact-breaking: every contactor opens the largest current that it can meet, at full voltage and in either
// direction.
//
// docs/rules/contact-breaking.md
#include <algorithm>
#include <cmath>
#include <map>

#include "rules/list.h"
#include "rules/subject.h"
#include "rules/worse.h"
#include "solve/opened.h"
#include "units/print.h"

namespace loomproof {
namespace {

// Magnets that blow the arc out have a direction, and matter from here on (a contactor maker's note).
constexpr double blow_out_v = 48;
// A current that leaves no arc behind worth a direction.
constexpr double no_arc_a = 1;

struct Met {
  Extreme forward, backward;  // A, from a to b and from b to a
};

std::vector<Met> currents_of(const Solved& solved) {
  std::vector<Met> out(solved.loom->elements.contacts.size());
  for (std::size_t p = 0; p < solved.points.size(); ++p) {
    for (const Branch& b : solved.circuit.branches) {
      if (b.type != BranchType::contact || solved.points[p].logic.contact_closed[b.index] == 0) continue;
      const double amps = branch_current_a(solved.circuit, solved.points[p], b);
      Extreme& slot = amps >= 0 ? out[b.index].forward : out[b.index].backward;
      if (!slot || std::fabs(amps) > slot.value) slot = {std::fabs(amps), p};
    }
  }
  return out;
}

void judge_direction(const Solved& solved, const Contact& contact, const Met& met, const Extreme& volts,
                     Obligation& owed) {
  const Loom& loom = *solved.loom;
  const Extreme& backward = met.backward;
  if (contact.polarised == false || !backward || backward.value < no_arc_a) return;
  const std::string current =
      fmt::format("{} from '{}' to '{}'", show(Ampere(backward.value)), loom.title(contact.b), loom.title(contact.a));
  if (!contact.polarised) {
    if (loom.kind_of(loom.part(contact.part)).find_attribute("polarised") == nullptr) return;
    if (volts.value < blow_out_v || loom.part(contact.part).find("breaks") == nullptr) return;
    owed.undecided(fmt::format("'{}' may have to break {}, and whether it has a direction is not given",
                               owed.subject.name, current),
                   fmt::format("write `polarised: false` (or true) in part '{}'", loom.part(contact.part).name));
    return;
  }
  owed.broken(fmt::format("'{}' breaks from '{}' to '{}' only and can meet {}", owed.subject.name,
                          loom.title(contact.a), loom.title(contact.b), current),
              Figure{show(Ampere(backward.value)), "0 A", 1e6}, solved.describe(backward))
      .note("its magnet then blows the arc inwards: it does not go out")
      .fix(met.forward && met.forward.value > backward.value
               ? "one without a direction, or no regeneration through it"
               : fmt::format("turn it round: '{}' to the side that the current comes from", loom.title(contact.a)));
}

void judge_contact(const Solved& solved, const Contact& contact, const Met& met, const Extreme& volts,
                   Obligation& owed) {
  const Loom& loom = *solved.loom;
  const Extreme& most =
      met.backward && (!met.forward || met.backward.value > met.forward.value) ? met.backward : met.forward;
  if (!most || most.value < no_arc_a) {
    owed.holds("breaks next to nothing");
    return;
  }
  const std::string amps = show(Ampere(most.value));
  if (!contact.breaks_a) {
    owed.undecided(fmt::format("'{}' may have to break {} at {} and what it breaks is not given", owed.subject.name,
                               amps, show(Volt(volts.value))),
                   ask_for(loom, contact, contact.breaks_a, "300 A at 80 V"));
    return;
  }
  const Figure current{amps, show(Ampere(*contact.breaks_a)), used_of_ceiling(most.value, *contact.breaks_a)};
  if (current.used > 1) {
    owed.broken(fmt::format("'{}' may have to break {} and breaks {}", owed.subject.name, amps, current.limit), current,
                solved.describe(most))
        .note("what it cannot break goes on as an arc, or welds it shut")
        .see(place_of(loom, contact, contact.breaks_a), "what it breaks")
        .fix("a contactor that breaks the largest current of the vehicle at its full voltage");
    return;
  }
  owed.holds(current, solved.describe(most));
  if (!contact.breaks_v) {
    owed.undecided(fmt::format("at which voltage '{}' breaks {} is not given", owed.subject.name, current.limit),
                   ask_for(loom, contact, contact.breaks_a, fmt::format("{} at 80 V", current.limit)));
  } else if (volts) {
    const Figure voltage{show(Volt(volts.value)), show(Volt(*contact.breaks_v)),
                         used_of_ceiling(volts.value, *contact.breaks_v)};
    if (voltage.used <= 1) {
      owed.holds(voltage, solved.describe(volts));
    } else {
      owed.broken(
              fmt::format("'{}' opens against {} and breaks at {}", owed.subject.name, voltage.value, voltage.limit),
              voltage, solved.describe(volts))
          .see(place_of(loom, contact, contact.breaks_v), "voltage at which it breaks")
          .fix(fmt::format("one that breaks at {} d.c. or more", voltage.value));
    }
  }
  keep_worse(owed, [&](Obligation& trial) { judge_direction(solved, contact, met, volts, trial); });
}

// What a contact is made to part: its own figure for breaking, or else its rated current at its rated voltage.
struct Breaking {
  Datum a, v;
};

Breaking breaking_of(const Contact& contact) {
  if (contact.breaks_a) return {contact.breaks_a, contact.breaks_v};
  return {contact.carries_a, contact.volts_v};
}

// Precharge into a shorted or loaded bus: the resistor holds the current, and it is the contact that must end it, with
// the whole pack across it.
void judge_shorted_bus(const Solved& solved, const Closing& closing, const Contact& contact, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const double amps = closing.source_v / *closing.precharge_ohm;
  const Breaking can = breaking_of(contact);
  const Figure current{show(Ampere(amps)), show(Ampere(*can.a)), used_of_ceiling(amps, *can.a)};
  const Figure voltage{show(Volt(closing.source_v)), show(Volt(*can.v)), used_of_ceiling(closing.source_v, *can.v)};
  const Figure& worse = voltage.used > current.used ? voltage : current;
  const std::string when = "full pack, bus shorted";
  if (worse.used <= 1) {
    owed.holds(worse, when);
    return;
  }
  owed.broken(fmt::format("'{}' must end a precharge into a shorted bus, {} at {} d.c., and is made for {} at {}",
                          owed.subject.name, current.value, voltage.value, current.limit, voltage.limit),
              worse, when)
      .note("an arc that it cannot break stands until the resistor burns")
      .see(place_of(loom, contact, can.a), "what it breaks")
      .fix(fmt::format("a relay that breaks {} at {} d.c., or a larger resistor", current.value, voltage.value));
}

void judge_precharge_contacts(const Rule& rule, const Solved& solved, std::map<std::size_t, Obligation*>& opened,
                              Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (const auto& [closing, situations, runs] : solved.chargings) {
    if (!closing.precharge_ohm || *closing.precharge_ohm <= 0) continue;
    for (std::size_t i : closing.around) {
      const Branch& b = solved.circuit.branches[i];
      if (b.type != BranchType::contact || !loom.elements.contacts[b.index].operated) continue;
      const Contact& contact = loom.elements.contacts[b.index];
      if (!breaking_of(contact).a || !breaking_of(contact).v) continue;  // contact-ratings asks for them
      Obligation*& owed = opened[b.index];
      if (owed == nullptr) owed = &ledger.open(rule, subject_of(loom, contact, false));
      keep_worse(*owed, [&](Obligation& trial) { judge_shorted_bus(solved, closing, contact, trial); });
    }
  }
}

void judge_contact_breaking(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const std::vector<Met> met = currents_of(solved);
  const std::vector<Extreme>& volts = solved.open_contact_v;
  std::map<std::size_t, Obligation*> opened;
  for (std::size_t i = 0; i < loom.elements.contacts.size(); ++i) {
    const Contact& contact = loom.elements.contacts[i];
    if (!contact.operated || (!is_wired(loom, contact.a) && !is_wired(loom, contact.b))) continue;
    // Switches and small relays break what they carry, at their rated voltage: contact-ratings judges those.
    const bool own_figure = loom.part(contact.part).find("breaks") != nullptr;
    const bool lacks = !contact.breaks_a && closed_by_coil(contact.closed_when);
    if (!own_figure && !lacks && contact.polarised != true) continue;
    opened[i] = &ledger.open(rule, subject_of(loom, contact, false));
    judge_contact(solved, contact, met[i], volts[i], *opened[i]);
  }
  judge_precharge_contacts(rule, solved, opened, ledger);
}

}  // namespace

const Rule contact_breaking{
    .slug = "contact-breaking",
    .group = Group::inrush,
    .severity = Severity::danger,
    .promise = "Every contactor opens the largest current that it can meet, at full voltage and in either direction.",
    .judge = judge_contact_breaking,
};

}  // namespace loomproof
