// contact-inrush: every switch and relay stands the surge of the cold lamps and converters that it switches on.
//
// Cold filaments draw 10 to 12 times (tests/reference/drop_limits.csv). A switch without a figure for making is derated
// as FAA AC 43.13-1B table 11-4 says. docs/rules/contact-inrush.md
#include <algorithm>
#include <cmath>
#include <set>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/opened.h"
#include "units/print.h"

namespace loomproof {
namespace {

// FAA AC 43.13-1B table 11-4: nominal rating of a switch over the current of the lamps behind it.
constexpr double lamp_factor_12v = 5, lamp_factor_28v = 8;
constexpr double between_v = 20;

struct Surge {
  double steady_a = 0;  // of everything that the contact feeds
  double peak_a = 0;    // the moment it closes
  double needed_a = 0;  // nominal rating that the table asks for
  bool surges = false;  // anything of it draws more at first
};

std::optional<double> own_inrush_a(const Loom& loom, const Converter& c) {
  return loom.part(c.part).number("inrush");
}

Surge surge_of(const Solved& solved, std::size_t contact, const OperatingPoint& point) {
  const Elements& all = solved.loom->elements;
  const Downstream fed = downstream_of(solved, contact, point);
  Surge out;
  for (std::size_t i : fed.loads) {
    const Load& load = all.loads[i];
    const double amps = std::fabs(point.load_a[i]);
    if (!load.channel.empty() || amps <= 0) continue;
    const double times = load.inrush ? std::max(1.0, *load.inrush) : 1;
    out.steady_a += amps;
    out.peak_a += amps * times;
    const double factor = load.rated_v && *load.rated_v > between_v ? lamp_factor_28v : lamp_factor_12v;
    out.needed_a += times > 1 ? amps * factor : amps;
    out.surges |= times > 1;
  }
  for (std::size_t i : fed.converters) {
    if (point.logic.converter_on[i] == 0) continue;
    const double amps = point.converter_in_a[i];
    const double peak_a = std::max(amps, own_inrush_a(*solved.loom, all.converters[i]).value_or(amps));
    out.steady_a += amps;
    out.peak_a += peak_a;
    out.needed_a += amps;
    out.surges |= peak_a > amps;
  }
  return out;
}

struct Worst {
  Surge surge;
  std::size_t point = 0;
};

// Looked for where the contact carries most, and where it carries most with each of the consumers on that surge.
Worst worst_surge(const Solved& solved, std::size_t contact) {
  const Elements& all = solved.loom->elements;
  std::set<std::size_t> tried;
  if (const Extreme most = most_at_rest(solved, contact)) tried.insert(*most.point);
  const auto branch =
      std::find_if(solved.circuit.branches.begin(), solved.circuit.branches.end(),
                   [&](const Branch& b) { return b.type == BranchType::contact && b.index == contact; });
  if (branch == solved.circuit.branches.end()) return {};
  for (std::size_t i = 0; i < all.loads.size(); ++i) {
    if (!all.loads[i].inrush || *all.loads[i].inrush <= 1) continue;
    Extreme with;
    for (std::size_t p = 0; p < solved.points.size(); ++p) {
      const OperatingPoint& point = solved.points[p];
      if (point.situation.duty || point.logic.contact_closed[contact] == 0 || point.load_a[i] == 0) continue;
      const double amps = std::fabs(branch_current_a(solved.circuit, point, *branch));
      if (!with || amps > with.value) with = {amps, p};
    }
    if (with) tried.insert(*with.point);
  }
  Worst worst;
  for (std::size_t p : tried) {
    const Surge surge = surge_of(solved, contact, solved.points[p]);
    if (surge.surges && surge.needed_a > worst.surge.needed_a) worst = {surge, p};
  }
  return worst;
}

void judge_contact(const Solved& solved, const Contact& contact, const Surge& surge, const std::string& where,
                   Obligation& owed) {
  const Loom& loom = *solved.loom;
  const std::string peak = show(Ampere(surge.peak_a));
  if (contact.makes_a) {
    const Figure figure{peak, show(Ampere(*contact.makes_a)), used_of_ceiling(surge.peak_a, *contact.makes_a)};
    if (figure.used <= 1) {
      owed.holds(figure, where);
      return;
    }
    owed.broken(fmt::format("'{}' closes onto {} and makes {}", owed.subject.name, peak, figure.limit), figure, where)
        .note(fmt::format("{} once they are warm", show(Ampere(surge.steady_a))))
        .see(place_of(loom, contact, contact.makes_a), "what it makes")
        .fix("a relay that makes it, or lamps of light-emitting diodes");
    return;
  }
  const Figure figure{show(Ampere(surge.needed_a)), show(Ampere(*contact.carries_a)),
                      used_of_ceiling(surge.needed_a, *contact.carries_a)};
  if (figure.used <= 1) {
    owed.holds(figure, where);
    return;
  }
  owed.broken(fmt::format("'{}' closes onto {} of cold lamps and converters and is rated {}", owed.subject.name, peak,
                          figure.limit),
              figure, where)
      .note(fmt::format("{} once they are warm; a switch for that has a nominal rating of {}",
                        show(Ampere(surge.steady_a)), figure.value))
      .see(place_of(loom, contact, contact.carries_a), "rated current")
      .fix(fmt::format("a switch or relay rated {}, or one whose maker gives `makes: {}`", figure.value, peak));
}

void judge_contact_inrush(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (std::size_t i = 0; i < loom.elements.contacts.size(); ++i) {
    const Contact& contact = loom.elements.contacts[i];
    // What it carries is asked for by contact-ratings.
    if (!contact.operated || (!contact.makes_a && !contact.carries_a)) continue;
    const Worst worst = worst_surge(solved, i);
    if (!worst.surge.surges) continue;
    const Surge& surge = worst.surge;
    const Kind& kind = loom.kind_of(loom.part(contact.part));
    const bool many = kind.inside.size() > 2 || !kind.repeat.empty();
    judge_contact(solved, contact, surge, solved.describe(solved.points[worst.point].situation),
                  ledger.open(rule, subject_of(loom, contact, many)));
  }
}

}  // namespace

const Rule contact_inrush{
    .slug = "contact-inrush",
    .group = Group::inrush,
    .severity = Severity::damage,
    .promise = "Every switch and relay stands the surge of the cold lamps and converters that it switches on.",
    .judge = judge_contact_inrush,
};

}  // namespace loomproof
