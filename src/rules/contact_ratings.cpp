// contact-ratings: every switch, relay, contactor and connector pin carries its current and stands its voltage.
//
// docs/rules/contact-ratings.md
#include <algorithm>
#include <cmath>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/opened.h"
#include "units/print.h"

namespace loomproof {
namespace {

// Currents below this pass any contact that is sold.
constexpr double no_load_a = 0.05;

// Largest current of a contact without duty or in a duty that lasts, and in each duty that ends.
struct Carried {
  Extreme lasting;
  std::vector<Extreme> duty;  // by duty point
};

Carried carried_by(const Solved& solved, std::size_t contact) {
  const Loom& loom = *solved.loom;
  Carried out;
  out.duty.resize(loom.duty.size());
  const auto larger = [](Extreme& e, double value, std::size_t p) {
    if (!e || value > e.value) e = {value, p};
  };
  for (const Branch& b : solved.circuit.branches) {
    if (b.type != BranchType::contact || b.index != contact) continue;
    for (std::size_t p = 0; p < solved.points.size(); ++p) {
      const OperatingPoint& point = solved.points[p];
      if (point.logic.contact_closed[contact] == 0) continue;
      const double amps = std::fabs(branch_current_a(solved.circuit, point, b));
      const auto& duty = point.situation.duty;
      larger(duty && loom.duty[duty->value].lasts ? out.duty[duty->value] : out.lasting, amps, p);
    }
  }
  return out;
}

// Duty that ends, on a contact whose maker gives a peak: I^2 t of the peak, and the root mean square of every ride.
void judge_over_time(const Solved& solved, const Contact& contact, const Carried& carried, Obligation& owed) {
  const Loom& loom = *solved.loom;
  for (std::size_t d = 0; d < loom.duty.size(); ++d) {
    const Extreme& most = carried.duty[d];
    if (!most || most.value <= *contact.carries_a) continue;
    const double lasts_s = loom.duty[d].lasts->value;
    const double stretch = contact.peak_s ? std::max(1.0, lasts_s / *contact.peak_s) : 1;
    const double allowed_a = std::max(*contact.carries_a, *contact.peak_a / std::sqrt(stretch));
    const Figure figure{show(Ampere(most.value)), show(Ampere(allowed_a)), used_of_ceiling(most.value, allowed_a)};
    if (figure.used <= 1) {
      owed.holds(figure, solved.describe(most));
      continue;
    }
    owed.broken(fmt::format("'{}' carries {} for {} and stands {} for so long", owed.subject.name, figure.value,
                            show(Second(lasts_s)), figure.limit),
                figure, solved.describe(most))
        .see(place_of(loom, contact, contact.peak_a), "peak current")
        .fix("a larger one, or less current for less time");
  }
  for (const Ride& ride : loom.rides) {
    double square = 0, whole_s = 0;
    for (DutyIndex d : ride.points) {
      const Extreme& most = carried.duty[d.value];
      const double lasts_s = loom.duty[d.value].lasts ? loom.duty[d.value].lasts->value : 0;
      square += (most ? most.value * most.value : 0) * lasts_s;
      whole_s += lasts_s;
    }
    if (!(whole_s > 0)) continue;
    const double mean_a = std::sqrt(square / whole_s);
    const Figure figure{show(Ampere(mean_a)), show(Ampere(*contact.carries_a)),
                        used_of_ceiling(mean_a, *contact.carries_a)};
    if (figure.used <= 1) {
      owed.holds(figure, fmt::format("root mean square of {}", ride.name));
      continue;
    }
    owed.broken(fmt::format("'{}' carries {} in the root mean square of '{}' and is rated {}", owed.subject.name,
                            figure.value, ride.name, figure.limit),
                figure, ride.name)
        .see(place_of(loom, contact, contact.carries_a), "rated current")
        .fix("a larger one, or a relay that takes the current over");
  }
}

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
  if (contact.peak_a && most.value > *contact.carries_a) {
    const Carried carried = carried_by(solved, i);
    if (!carried.lasting || carried.lasting.value <= *contact.carries_a) {
      judge_over_time(solved, contact, carried, owed);
      return;
    }
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

void judge_voltage(const Solved& solved, std::size_t i, const Extreme& most, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const Contact& contact = loom.elements.contacts[i];
  constexpr double no_voltage_v = 0.5;
  if (!most || most.value < no_voltage_v) {
    owed.holds("no voltage across it in any situation");
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
  owed.broken(
          fmt::format("'{}' has {} across it when it is open and is rated {}", owed.subject.name, stands, figure.limit),
          figure, solved.describe(most))
      .note(contact.operated ? "an arc that a contact was not made for does not go out" : "")
      .see(place_of(loom, contact, contact.volts_v), "rated voltage")
      .fix(fmt::format("one rated for at least {} d.c.", stands));
}

void judge_contact_ratings(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const std::vector<Extreme>& open_v = solved.open_contact_v;
  for (std::size_t i = 0; i < loom.elements.contacts.size(); ++i) {
    const Contact& contact = loom.elements.contacts[i];
    if (!is_wired(loom, contact.a) && !is_wired(loom, contact.b)) continue;
    const bool many = loom.kind_of(loom.part(contact.part)).inside.size() > 2 ||
                      !loom.kind_of(loom.part(contact.part)).repeat.empty();
    judge_current(solved, i, ledger.open(rule, subject_of(loom, contact, many)));
    judge_voltage(solved, i, open_v[i], ledger.open(rule, subject_of(loom, contact, many)));
  }
}

}  // namespace

const Rule contact_ratings{
    .slug = "contact-ratings",
    .group = Group::inrush,
    .severity = Severity::danger,
    .promise = "Every switch, relay, contactor and connector pin carries its current and stands its voltage.",
    .judge = judge_contact_ratings,
};

}  // namespace loomproof
