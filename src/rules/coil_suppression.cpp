// coil-suppression: every coil has something that takes its current when it is switched off, the right way round, and
// what that leaves is no more than the driver stands.
//
// docs/rules/coil-suppression.md
#include <algorithm>
#include <cmath>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/opened.h"
#include "solve/pole_map.h"
#include "units/print.h"

namespace loomproof {
namespace {

constexpr double diode_v = 1;  // silicon at the coil's current, upper end (from memory)
// Voltage of a suppressor of which the file says nothing, in rated voltages of the coil: a zener or clamp three times,
// a resistor of eight times the coil's own resistance eight times (common practice, no source).
constexpr double clamp_share = 3, resistor_share = 8;
// Less than this makes no diode carry more than the coil's own supply would.
constexpr double driven_v = 2;

// Wires alone join.
std::vector<int> wired_pieces(const Solved& solved) {
  return components(solved.graph, solved.circuit, [](const Branch& b) { return b.type == BranchType::wire; });
}

struct Across {
  const Diode* plus_cathode = nullptr;  // its cathode at coil.a
  const Diode* plus_anode = nullptr;
  const Resistance* resistor = nullptr;
};

// Parts of their own that are wired across the coil.
Across across_coil(const Solved& solved, const Coil& coil, const std::vector<int>& piece) {
  const auto at = [&](TerminalIndex t) { return piece[solved.circuit.node(t)]; };
  const int a = at(coil.a), b = at(coil.b);
  Across out;
  for (const Diode& d : solved.loom->elements.diodes) {
    if (at(d.cathode) == a && at(d.anode) == b) out.plus_cathode = &d;
    if (at(d.anode) == a && at(d.cathode) == b) out.plus_anode = &d;
  }
  for (const Resistance& r : solved.loom->elements.resistances) {
    if ((at(r.a) == a && at(r.b) == b) || (at(r.a) == b && at(r.b) == a)) out.resistor = &r;
  }
  return out;
}

// Highest and lowest voltage from coil.a to coil.b.
struct Polarity {
  Extreme high, low;
};
Polarity polarity_of(const Solved& solved, const Coil& coil) {
  Polarity out;
  for (std::size_t p = 0; p < solved.points.size(); ++p) {
    const auto v = voltage(solved.circuit, solved.points[p], coil.a, coil.b);
    if (!v) continue;
    if (!out.high || v->value > out.high.value) out.high = {v->value, p};
    if (!out.low || v->value < out.low.value) out.low = {v->value, p};
  }
  return out;
}

// Turned with its supply, or by itself.
void reversed(const Solved& solved, const Coil& coil, const Extreme& seen, const std::string& diode,
              const std::string& swap, Obligation& owed) {
  const double seen_v = std::fabs(seen.value);
  owed.broken(fmt::format("{} of '{}' is the wrong way round: it shorts {} when the coil is switched on", diode,
                          owed.subject.name, seen_v > driven_v ? show(Volt(seen_v)) : std::string("its supply")),
              std::nullopt, solved.describe(seen))
      .note("the switch or driver before it carries the short until a fuse opens or the diode bursts")
      .as(Severity::danger);
  const PoleMap poles(solved);
  const PolePair* supply = poles.turned_behind(coil.a, coil.b);
  if (supply == nullptr) supply = poles.turned_behind(coil.b, coil.a);
  if (supply != nullptr) {
    owed.fix(fmt::format("exchange the wires at '{}' and '{}': '{}' is what is turned", solved.loom->title(supply->pos),
                         solved.loom->title(supply->neg), solved.loom->part(supply->part).name));
  } else {
    owed.fix(swap).of_wiring();
  }
}

// Drivers that switch the coil off by semiconductors: they see the supply and, on top, what the suppressor leaves.
void judge_drivers(const Solved& solved, std::size_t i, double clamp_v, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const Extreme& highest = solved.extremes.coil_high_v[i];
  const double meets_v = highest.value + clamp_v;
  owed.holds(fmt::format("leaves {} across the coil when it is switched off", show(Volt(clamp_v))));
  for (std::size_t k = 0; k < loom.elements.contacts.size(); ++k) {
    const Contact& contact = loom.elements.contacts[k];
    if (!closed_by_logic(contact.closed_when) || closed_by_coil(contact.closed_when)) continue;
    const bool drives = std::any_of(solved.points.begin(), solved.points.end(), [&](const OperatingPoint& p) {
      if (p.logic.coil_on[i] == 0 || p.logic.contact_closed[k] == 0 || p.situation.duty) return false;
      const auto coils = downstream_of(solved, k, p).coils;
      return std::find(coils.begin(), coils.end(), i) != coils.end();
    });
    if (!drives) continue;
    const std::string driver = loom.part(contact.part).name + "." + contact.name;
    if (!contact.volts_v) {
      owed.undecided(fmt::format("'{}' sees {} when it switches '{}' off, and what it stands is not given", driver,
                                 show(Volt(meets_v)), owed.subject.name),
                     ask_for(loom, contact, contact.volts_v, "60 V"));
      continue;
    }
    const Figure figure{show(Volt(meets_v)), show(Volt(*contact.volts_v)), used_of_ceiling(meets_v, *contact.volts_v)};
    if (figure.used <= 1) {
      owed.holds(figure, solved.describe(highest));
      continue;
    }
    owed.broken(fmt::format("'{}' sees {} when it switches '{}' off and stands {}", driver, figure.value,
                            owed.subject.name, figure.limit),
                figure, solved.describe(highest))
        .note(fmt::format("{} of the supply and {} of the suppressor", show(Volt(highest.value)), show(Volt(clamp_v))))
        .see(place_of(loom, contact, contact.volts_v), "what the driver stands")
        .fix(fmt::format("a suppressor that leaves at most {}, or the figure of the controller's maker",
                         show(Volt(std::max(0.0, *contact.volts_v - highest.value)))));
  }
}

void judge_coil(const Solved& solved, std::size_t i, const std::vector<int>& piece, Obligation& owed, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Coil& coil = loom.elements.coils[i];
  const Across across = across_coil(solved, coil, piece);
  const Polarity polarity = polarity_of(solved, coil);
  const bool plus_a = polarity.high && polarity.high.value > driven_v;
  const bool plus_b = polarity.low && polarity.low.value < -driven_v;
  const bool directed = coil.suppression == "diode" || coil.suppression == "zener";
  if (directed && plus_b) {
    reversed(solved, coil, polarity.low, "the suppressor",
             fmt::format("swap '{}' and '{}'", loom.title(coil.a), loom.title(coil.b)), owed);
    return;
  }
  const Diode* wrong = plus_a ? across.plus_anode : nullptr;
  if (wrong == nullptr && plus_b) wrong = across.plus_cathode;
  // One that shorts the coil leaves no voltage by which to tell: then by where its ends lead.
  for (const Diode* d : {across.plus_anode, across.plus_cathode}) {
    const bool shorts =
        d != nullptr &&
        solved.circuit.diode_stands[static_cast<std::size_t>(d - loom.elements.diodes.data())] == DiodeStand::forward;
    if (wrong == nullptr && shorts) wrong = d;
  }
  if (wrong != nullptr) {
    const std::string& name = loom.part(wrong->part).name;
    reversed(solved, coil, plus_b ? polarity.low : polarity.high, fmt::format("the diode '{}'", name),
             fmt::format("swap '{}' and '{}'", loom.title(wrong->anode), loom.title(wrong->cathode)), owed);
    return;
  }
  const Diode* right = plus_b ? across.plus_anode : across.plus_cathode;
  const bool outside = right != nullptr || across.resistor != nullptr;
  if (!outside && coil.suppression.empty()) {
    owed.undecided(
        fmt::format("what takes the current of '{}' when it is switched off is not given", owed.subject.name),
        fmt::format("write `suppression: zener` (none, diode, zener, clamp, resistor or inside) in part '{}'",
                    loom.part(coil.part).name));
    return;
  }
  if (!outside && coil.suppression == "none") {
    owed.broken(fmt::format("nothing takes the current of '{}' when it is switched off", owed.subject.name))
        .note("its voltage rises by hundreds of volts: drivers die, switches burn, controllers near it go astray")
        .fix(fmt::format(
            "the suppressor that its maker names, across '{}' and '{}'; a diode with its cathode at the plus",
            loom.title(coil.a), loom.title(coil.b)));
    return;
  }
  double clamp_v = coil.clamp_v ? *coil.clamp_v : 0;
  if (right != nullptr || coil.suppression == "diode") {
    clamp_v = coil.clamp_v ? *coil.clamp_v : diode_v;
  } else if (!coil.clamp_v) {
    if (!coil.volts_v || !coil.ohm) return owed.holds("its coil is not described; supply-voltage asks for it"), void();
    if (across.resistor != nullptr && across.resistor->ohm) {
      clamp_v = *coil.volts_v / *coil.ohm * *across.resistor->ohm;
    } else {
      clamp_v = *coil.volts_v * (coil.suppression == "resistor" ? resistor_share : clamp_share);
      ledger.assume(fmt::format("suppressor of '{}' taken to leave {}: write `suppression_volts`",
                                loom.part(coil.part).name, show(Volt(clamp_v))),
                    loom.part(coil.part).at);
    }
  }
  judge_drivers(solved, i, clamp_v, owed);
}

void judge_coil_suppression(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const std::vector<int> piece = wired_pieces(solved);
  for (std::size_t i = 0; i < loom.elements.coils.size(); ++i) {
    const Coil& coil = loom.elements.coils[i];
    if (!is_wired(loom, coil.a) || !is_wired(loom, coil.b)) continue;  // loose-end speaks of it
    judge_coil(solved, i, piece, ledger.open(rule, subject_of(loom, coil, true)), ledger);
  }
}

}  // namespace

const Rule coil_suppression{
    .slug = "coil-suppression",
    .group = Group::inrush,
    .severity = Severity::damage,
    .promise = "Every coil has a suppressor, the right way round, and no driver sees more than it stands.",
    .judge = judge_coil_suppression,
};

}  // namespace loomproof
