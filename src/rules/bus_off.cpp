// bus-off: the switches that open the contactor still do under every single fault, and a bus above 60 V goes dead.
//
// docs/rules/bus-off.md
#include <algorithm>
#include <cmath>

#include "rules/list.h"
#include "rules/story.h"
#include "rules/subject.h"
#include "rules/voltage_class.h"
#include "units/print.h"

namespace loomproof {
namespace {

// At what the bus stands with a full pack and every switch at rest: what keeps it live then, no bleed empties. A circuit
// that remembers is at rest in several ways; the lowest is the one that nobody has switched on before.
Extreme lowest_at_rest(const Solved& solved, const Load& bus) {
  Extreme lowest;
  for (std::size_t p = 0; p < solved.points.size(); ++p) {
    const Situation& s = solved.points[p].situation;
    if (s.duty || s.charge != Charge::full) continue;
    if (std::any_of(s.positions.begin(), s.positions.end(), [](auto at) { return at != 0; })) continue;
    const auto v = voltage(solved.circuit, solved.points[p], bus.pos, bus.neg);
    if (v && (!lowest || v->value < lowest.value)) lowest = {v->value, p};
  }
  return lowest;
}

// The bleed resistor and whatever else stays across the bus empties its capacitors: t = R C ln(V / 60 V).
void judge_bleed(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const double full_v = cable_class_v(solved);
  for (const Load& bus : loom.elements.loads) {
    if (bus.channel != "battery" || full_v <= touch_safe_v) continue;
    double farad = 0, siemens = 0;
    bool known = true;
    for (const Capacitance& c : loom.elements.capacitances) {
      if (c.part != bus.part) continue;
      known &= c.farad.value.has_value();
      farad += c.farad ? *c.farad : 0;
    }
    for (const Resistance& r : loom.elements.resistances) {
      if (r.part == bus.part && r.a == bus.pos && r.b == bus.neg && r.ohm && *r.ohm > 0) siemens += 1 / *r.ohm;
    }
    if (!known || farad == 0) continue;  // precharge asks for it
    Obligation& owed = ledger.open(rule, subject_of(loom, bus.part));
    if (const Extreme rest = lowest_at_rest(solved, bus); rest && rest.value > touch_safe_v) {
      owed.broken(fmt::format("'{}' stands at {} with every switch at rest", loom.part(bus.part).name,
                              show(Volt(rest.value))),
                  Figure{show(Volt(rest.value)), show(Volt(touch_safe_v)), rest.value / touch_safe_v},
                  solved.describe(rest))
          .fix("switch the way that feeds it, the precharge too, by a contact that is open at rest");
      continue;
    }
    if (siemens == 0) {
      owed.undecided(
          fmt::format("what empties the capacitors of '{}' after switching off is not given", loom.part(bus.part).name),
          fmt::format("write `bleed: 10 kohm` in part '{}', or measure how long it stays above 60 V",
                      loom.part(bus.part).name));
      continue;
    }
    const double seconds = farad / siemens * std::log(full_v / touch_safe_v);
    owed.holds(fmt::format("below {} {} after the contactor opens at {}", show(Volt(touch_safe_v)),
                           show(Second(seconds)), show(Volt(full_v))));
  }
}

void judge_bus_off(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const bool can_hurt = cable_class_v(solved) > touch_safe_v;
  for (const WatchResult& w : solved.faults->watches) {
    const PartIndex part = w.watch.when.empty() ? PartIndex{0} : w.watch.when.front().first;
    // With a charger in it is the torque that must be off; whether the contactor is, is the vehicle's own affair.
    const bool charger = std::any_of(loom.elements.sources.begin(), loom.elements.sources.end(),
                                     [&](const Source& s) { return s.part == part; });
    const std::string when = when_of(loom, w.watch);
    StoryWords words;
    if (w.watch.what == Watch::What::bus && can_hurt) {
      const std::string bus = loom.title(loom.elements.loads[w.watch.index].pos);
      words.happens = fmt::format("'{}' stays live above {} with {}", bus, show(Volt(touch_safe_v)), when);
      words.stays = fmt::format("'{}' is dead with {}", bus, when);
      words.welds_only_listed = true;
      words.fix = "a contactor in each pole: a welded one then leaves no voltage across the bus";
    } else if (w.watch.what == Watch::What::contactor && !charger) {
      const std::string coil = loom.part(loom.elements.coils[w.watch.index].part).name;
      words.happens = fmt::format("'{}' stays closed with {}", coil, when);
      words.stays = fmt::format("'{}' opens with {}", coil, when);
      words.fix = "find what else feeds the coil, and take its supply through the switch";
    } else {
      continue;
    }
    judge_watch(solved, w, words, ledger.open(rule, subject_of(loom, w.watch.when.front().first)), ledger);
  }
  judge_bleed(rule, solved, ledger);
}

}  // namespace

const Rule bus_off{
    .slug = "bus-off",
    .group = Group::control,
    .severity = Severity::danger,
    .promise = "What opens the contactor still does under every single fault, and a bus above 60 V goes dead.",
    .judge = judge_bus_off,
};

}  // namespace loomproof
