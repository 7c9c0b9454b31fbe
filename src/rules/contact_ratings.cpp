// contact-ratings: every switch, relay, contactor and connector pin carries its current and stands its voltage.
//
// docs/rules/contact-ratings.md
#include "rules/list.h"
#include "rules/subject.h"
#include "units/print.h"

namespace loomproof {
namespace {

// Currents below this pass any contact that is sold.
constexpr double no_load_a = 0.05;

void judge_current(const Solved& solved, std::size_t i, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const Contact& contact = loom.elements.contacts[i];
  const Extreme& most = solved.extremes.contact_a[i];
  if (!most || most.value < no_load_a) {
    owed.holds("carries next to nothing in any situation");
    return;
  }
  const std::string carries = show(Ampere(most.value));
  if (!contact.carries_a) {
    owed.undecided(fmt::format("'{}' carries {} and what it may carry is not given", owed.subject.name, carries),
                   ask_for(loom, contact, contact.carries_a, "10 A"));
    return;
  }
  const Figure figure{carries, show(Ampere(*contact.carries_a)), used_of_ceiling(most.value, *contact.carries_a)};
  if (figure.used <= 1) {
    owed.holds(figure, solved.describe(most));
    return;
  }
  owed.broken(fmt::format("'{}' carries {} and is rated {}", owed.subject.name, carries, figure.limit), figure,
              solved.describe(most))
      .see(place_of(loom, contact, contact.carries_a), "rated current")
      .fix("a larger one, or a relay that takes the current over");
}

void judge_voltage(const Solved& solved, std::size_t i, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const Contact& contact = loom.elements.contacts[i];
  const Extreme& a = solved.extremes.terminal_v[contact.a.value];
  const Extreme& b = solved.extremes.terminal_v[contact.b.value];
  const Extreme& most = b.value > a.value ? b : a;
  constexpr double no_voltage_v = 0.5;
  if (!most || most.value < no_voltage_v) {
    owed.holds("no voltage in any situation");
    return;
  }
  const std::string stands = show(Volt(most.value));
  if (!contact.volts_v) {
    owed.undecided(fmt::format("'{}' switches {} and its rated voltage is not given", owed.subject.name, stands),
                   ask_for(loom, contact, contact.volts_v, "80 V"));
    return;
  }
  const Figure figure{stands, show(Volt(*contact.volts_v)), used_of_ceiling(most.value, *contact.volts_v)};
  if (figure.used <= 1) {
    owed.holds(figure, solved.describe(most));
    return;
  }
  owed.broken(fmt::format("'{}' stands at {} and is rated {}", owed.subject.name, stands, figure.limit), figure,
              solved.describe(most))
      .note(contact.operated ? "an arc that a contact was not made for does not go out" : "")
      .see(place_of(loom, contact, contact.volts_v), "rated voltage")
      .fix(fmt::format("one rated for at least {} d.c.", stands));
}

void judge(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (std::size_t i = 0; i < loom.elements.contacts.size(); ++i) {
    const Contact& contact = loom.elements.contacts[i];
    if (!is_wired(loom, contact.a) && !is_wired(loom, contact.b)) continue;
    const bool many = loom.kind_of(loom.part(contact.part)).inside.size() > 2 ||
                      !loom.kind_of(loom.part(contact.part)).repeat.empty();
    judge_current(solved, i, ledger.open(rule, subject_of(loom, contact, many)));
    judge_voltage(solved, i, ledger.open(rule, subject_of(loom, contact, many)));
  }
}

}  // namespace

const Rule contact_ratings{
    .slug = "contact-ratings",
    .group = Group::inrush,
    .severity = Severity::danger,
    .promise = "Every switch, relay, contactor and connector pin carries its current and stands its voltage.",
    .judge = judge,
};

}  // namespace loomproof
