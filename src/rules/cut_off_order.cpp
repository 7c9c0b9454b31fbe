// cut-off-order: as the pack empties, the drive ends before the 12 V supply that holds its contactor does.
//
// docs/rules/cut-off-order.md
#include <algorithm>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/pack_duty.h"
#include "units/print.h"

namespace loomproof {
namespace {

struct Step {
  double volts = 0;
  std::string what;
  Place at;
};

// What ends the drive first as the voltage falls: battery management or the controller's own window.
std::optional<Step> end_of_drive(const Solved& solved, int node) {
  const Loom& loom = *solved.loom;
  std::optional<Step> first;
  const auto take = [&](double volts, const std::string& what, Place at) {
    if (!first || volts > first->volts) first = Step{volts, what, at};
  };
  for (const Load& load : loom.elements.loads) {
    if (load.channel.empty() || !load.low_v) continue;
    if (solved.circuit.island_of[solved.circuit.node(load.pos)] != solved.circuit.island_of[node]) continue;
    take(*load.low_v, loom.part(load.part).name, place_of(loom, load, load.low_v));
  }
  for (std::size_t i = 0; i < loom.elements.contacts.size(); ++i) {
    const Part& part = loom.part(loom.elements.contacts[i].part);
    const auto cut_off_v = part.number("cut_off");
    if (cut_off_v && is_wired(loom, loom.elements.contacts[i].a)) take(*cut_off_v, part.name, part.find("cut_off")->at);
  }
  return first;
}

bool feeds_a_contactor(const Solved& solved, const Converter& c) {
  const auto island = [&](TerminalIndex t) { return solved.circuit.island_of[solved.circuit.node(t)]; };
  return std::any_of(solved.loom->elements.coils.begin(), solved.loom->elements.coils.end(),
                     [&](const Coil& coil) { return island(coil.a) == island(c.out_pos); });
}

bool has_a_battery_beside(const Solved& solved, const Converter& c) {
  const auto island = [&](TerminalIndex t) { return solved.circuit.island_of[solved.circuit.node(t)]; };
  return std::any_of(solved.loom->elements.sources.begin(), solved.loom->elements.sources.end(), [&](const Source& s) {
    return s.sinks && s.zone == Zone::low_voltage && island(s.pos) == island(c.out_pos);
  });
}

void judge_cut_off_order(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (const Converter& c : loom.elements.converters) {
    const auto end = end_of_drive(solved, solved.circuit.node(c.in_pos));
    if (!end || !feeds_a_contactor(solved, c)) continue;
    Obligation& owed = ledger.open(rule, subject_of(loom, c.part));
    if (!c.low_v) {
      owed.undecided(fmt::format("the voltage at which '{}' stops is not given", owed.subject.name),
                     ask_for(loom, c, c.low_v, "36 V to 75 V"));
      continue;
    }
    const Figure figure{show(Volt(*c.low_v)), show(Volt(end->volts)), used_of_ceiling(*c.low_v, end->volts)};
    if (figure.used <= 1) {
      owed.holds(figure, "emptying pack");
      continue;
    }
    const bool buffered = has_a_battery_beside(solved, c);
    owed.broken(fmt::format("'{}' stops at {}, and the drive ends at {} ('{}')", owed.subject.name, figure.value,
                            figure.limit, end->what),
                figure, "emptying pack")
        .note(buffered ? "the small battery beside it carries the contactor on, and is flat at the next start"
                       : "lights and contactor go out at speed, and the contactor opens under full load")
        .see(end->at, "where the drive ends")
        .see(place_of(loom, c, c.low_v), "where the converter stops")
        .fix(fmt::format("a converter that works down to {}, or a higher cut-off", figure.limit));
    if (buffered) owed.as(Severity::nuisance);
  }
}

}  // namespace

const Rule cut_off_order{
    .slug = "cut-off-order",
    .group = Group::source,
    .severity = Severity::danger,
    .promise = "As the pack empties, the drive ends before the 12 V supply that holds its contactor does.",
    .judge = judge_cut_off_order,
};

}  // namespace loomproof
