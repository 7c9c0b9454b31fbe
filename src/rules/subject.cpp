// Subjects and sentences that several rules share.
#include "rules/subject.h"

#include <algorithm>
#include <limits>

#include <fmt/format.h>

#include "solve/insulation.h"

namespace loomproof {

Subject subject_of(const Loom& loom, WireIndex i) {
  const Wire& wire = loom.wire(i);
  return {wire.name, wire.at, i, std::nullopt};
}

Subject subject_of(const Loom& loom, PartIndex i) {
  const Part& part = loom.part(i);
  return {part.name, part.at, std::nullopt, i};
}

Subject subject_of(const Loom& loom, const Element& element, bool named) {
  Subject subject = subject_of(loom, element.part);
  if (named) subject.name += "." + element.name;
  return subject;
}

Place place_of(const Loom& loom, const Element& element, const Datum& datum) {
  return datum.at ? datum.at : loom.part(element.part).at;
}

std::string ask_for(const Loom& loom, const Element& element, const Datum& datum, std::string_view example) {
  const std::string name = datum.attribute.empty() ? std::string("the missing figure") : datum.attribute;
  return fmt::format("write `{}: {}` in part '{}'", name, example, loom.part(element.part).name);
}

void ask_supply(const Loom& loom, const UntoldSupply& untold, Obligation& owed) {
  owed.undecided(fmt::format("what a short drives through '{}' depends on '{}', whose {} is not given",
                             owed.subject.name, loom.part(untold.supply->part).name, untold.lacks->attribute),
                 ask_for(loom, *untold.supply, *untold.lacks, untold.example));
}

std::string_view opener_word(const Fuse& fuse) {
  return fuse.curve == "electronic" ? "switch" : fuse.curve == "breaker" ? "breaker" : "fuse";
}

CurveAsk curve_ask(const Fuse& fuse) {
  if (fuse.curve == "electronic") return {"time to trip", "`discharge_trip: 100 A for 5 s`"};
  return {"time-current curve", "`curve: blade` (or bolt-in, cartridge)"};
}

void ask_insulation(const Wire& wire, Obligation& owed) {
  if (!wire.insulation) {
    owed.undecided(fmt::format("insulation of '{}' is not given", wire.name), "write `insulation: pvc-105` in it");
    return;
  }
  std::string known;
  for (const Insulation& row : insulations()) known += (known.empty() ? "" : ", ") + std::string(row.name);
  owed.undecided(fmt::format("insulation '{}' of '{}' is not in the table", wire.insulation->value, wire.name),
                 "write the one of these that stands as much at the most: " + known);
}

bool is_wired(const Loom& loom, TerminalIndex t) {
  return std::any_of(loom.wires.begin(), loom.wires.end(), [&](const Wire& w) { return w.from == t || w.to == t; });
}

double used_of_ceiling(double figure, double limit) {
  if (limit > 0) return figure / limit;
  return figure > 0 ? std::numeric_limits<double>::infinity() : 0;
}

double used_of_floor(double figure, double floor) {
  if (floor <= 0) return 0;
  return figure > 0 ? floor / figure : std::numeric_limits<double>::infinity();
}

}  // namespace loomproof
