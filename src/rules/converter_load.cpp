// converter-load: the DC-DC converter feeds everything that can be on together, with a quarter to spare.
//
// Converter at least 1.25 times the continuous load (common practice, no source). docs/rules/converter-load.md
#include "rules/list.h"
#include "rules/subject.h"
#include "units/print.h"

namespace loomproof {
namespace {

constexpr double spare = 1.25;

// What the consumers behind a converter draw: its own output, with what a small battery beside it adds or takes. A
// battery that it charges is no consumer, and one that helps hides none.
Extreme most_drawn(const Solved& solved, std::size_t i) {
  const Loom& loom = *solved.loom;
  const int out = solved.circuit.node(loom.elements.converters[i].out_pos);
  Extreme most;
  for (std::size_t p = 0; p < solved.points.size(); ++p) {
    const OperatingPoint& point = solved.points[p];
    double drawn_a = point.converter_out_a[i];
    if (drawn_a <= 0) continue;
    for (std::size_t s = 0; s < loom.elements.sources.size(); ++s) {
      const Source& source = loom.elements.sources[s];
      if (source.zone != Zone::low_voltage || point.piece[solved.circuit.node(source.pos)] != point.piece[out])
        continue;
      drawn_a += point.source_a[s];
    }
    if (!most || drawn_a > most.value) most = {drawn_a, p};
  }
  return most;
}

// A consumer behind the converter of which nobody knows what it draws.
const Load* unknown_load(const Solved& solved, const Converter& c) {
  const auto island = [&](TerminalIndex t) { return solved.circuit.island_of[solved.circuit.node(t)]; };
  for (const Load& load : solved.loom->elements.loads) {
    if (!load.amount && load.channel.empty() && island(load.pos) == island(c.out_pos)) return &load;
  }
  return nullptr;
}

void judge_converter_load(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (std::size_t i = 0; i < loom.elements.converters.size(); ++i) {
    const Converter& c = loom.elements.converters[i];
    Obligation& owed = ledger.open(rule, subject_of(loom, c.part));
    const Extreme most = most_drawn(solved, i);
    if (!c.limit_a) {
      owed.undecided(fmt::format("what '{}' can give is not given", owed.subject.name),
                     ask_for(loom, c, c.limit_a, "20 A"));
      continue;
    }
    if (const Load* load = unknown_load(solved, c)) {
      owed.undecided(
          fmt::format("'{}' feeds '{}', which draws an unknown current", owed.subject.name, loom.part(load->part).name),
          ask_for(loom, *load, load->amount, "21 W"));
      continue;
    }
    if (!most || most.value <= 0) {
      owed.undecided(fmt::format("'{}' feeds nothing in any situation that was settled", owed.subject.name),
                     "see whether its input and output are wired as meant");
      continue;
    }
    const double allowed_a = *c.limit_a / spare;
    const Figure figure{show(Ampere(most.value)), show(Ampere(allowed_a)), most.value / allowed_a};
    if (figure.used <= 1) {
      owed.holds(figure, solved.describe(most));
      continue;
    }
    owed.broken(fmt::format("'{}' feeds {} and {} is what it should feed for long", owed.subject.name, figure.value,
                            figure.limit),
                figure, solved.describe(most))
        .see(place_of(loom, c, c.limit_a), "largest output current")
        .fix("a larger converter, or fewer consumers at a time");
  }
}

}  // namespace

const Rule converter_load{
    .slug = "converter-load",
    .group = Group::low_voltage,
    .severity = Severity::nuisance,
    .promise = "The DC-DC converter feeds everything that can be on together, with a quarter to spare.",
    .judge = judge_converter_load,
};

}  // namespace loomproof
