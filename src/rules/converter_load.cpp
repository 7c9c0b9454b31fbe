// converter-load: the DC-DC converter feeds everything that can be on together, with a quarter to spare.
//
// Converter at least 1.25 times the continuous load (common practice, no source). docs/rules/converter-load.md
#include "rules/list.h"
#include "rules/subject.h"
#include "units/print.h"

namespace loomproof {
namespace {

constexpr double spare = 1.25;

void judge(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (std::size_t i = 0; i < loom.elements.converters.size(); ++i) {
    const Converter& c = loom.elements.converters[i];
    Obligation& owed = ledger.open(rule, subject_of(loom, c.part));
    const Extreme& most = solved.extremes.converter_out_a[i];
    if (!c.limit_a) {
      owed.undecided(fmt::format("what '{}' can give is not given", owed.subject.name),
                     ask_for(loom, c, c.limit_a, "20 A"));
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
    .judge = judge,
};

}  // namespace loomproof
