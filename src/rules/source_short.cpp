// source-short: in no switch state is a source shorted or asked for more than it gives.
//
// Shorted: a way of nothing but closed contacts, wires and fuses leads from one pole to the other, however thin it is;
// or more than half of what the source gives into no resistance at all. docs/rules/source-short.md
#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/conductor_pieces.h"
#include "units/print.h"

namespace loomproof {
namespace {

// A source that gives half of what it gives shorted is as good as shorted.
constexpr double shorted_share = 0.5;

// By source: the first point in which a way of conductors alone joins its poles. A diode is no way of its own: it may
// block. A current that it does pass counts by its size.
std::vector<std::optional<std::size_t>> shorted_in(const Solved& solved) {
  const Circuit& circuit = solved.circuit;
  const auto& sources = solved.loom->elements.sources;
  ConductorPieces pieces(circuit, false);
  std::vector<std::optional<std::size_t>> out(sources.size());
  for (std::size_t p = 0; p < solved.points.size(); ++p) {
    for (std::size_t i = 0; i < sources.size(); ++i) {
      if (out[i]) continue;
      if (pieces.joined(solved.points[p].logic, circuit.node(sources[i].pos), circuit.node(sources[i].neg))) out[i] = p;
    }
  }
  return out;
}

// A section of a pack ends at taps: the user knows these, and not the points inside.
std::string end_of(const Loom& loom, TerminalIndex end) {
  const Terminal& terminal = loom.terminal(end);
  const std::string& part = loom.part(terminal.part).name;
  if (terminal.inside && terminal.name.starts_with("cell"))
    return fmt::format("{}.tap{}", part, terminal.name.substr(4));
  return loom.title(end);
}

std::string ends_of(const Loom& loom, const Source& s) {
  return fmt::format("'{}' and '{}'", end_of(loom, s.neg), end_of(loom, s.pos));
}

void judge_source(const Rule& rule, const Solved& solved, std::size_t i, std::optional<std::size_t> shorted,
                  Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Source& s = loom.elements.sources[i];
  const Extreme& most = solved.extremes.source_out_a[i];
  if (!most) return;
  Obligation& owed = ledger.open(rule, subject_of(loom, s, loom.kind_of(loom.part(s.part)).inside.size() > 4));
  if (shorted) {
    const OperatingPoint& point = solved.points[*shorted];
    owed.broken(fmt::format("'{}' is shorted: {} flow", owed.subject.name, show(Ampere(std::fabs(point.source_a[i])))),
                std::nullopt, solved.describe(point.situation))
        .note(fmt::format("nothing but wires, fuses and closed contacts lies between {}", ends_of(loom, s)))
        .fix(fmt::format("look for a contact or a wire that joins {} in this situation", ends_of(loom, s)));
    return;
  }
  double limit_a = 0;
  if (s.limit_a) {
    limit_a = *s.limit_a;
  } else if (s.ohm && s.full_v && *s.ohm > 0) {
    limit_a = shorted_share * *s.full_v / *s.ohm;
  } else {
    const bool asks_ohm = !s.ohm || *s.ohm <= 0;
    owed.undecided(fmt::format("{} of '{}' is not given", asks_ohm ? "resistance" : "voltage", owed.subject.name),
                   asks_ohm ? ask_for(loom, s, s.ohm, "1.2 mohm") : ask_for(loom, s, s.full_v, "58.4 V"));
    return;
  }
  const Figure figure{show(Ampere(most.value)), show(Ampere(limit_a)), used_of_ceiling(most.value, limit_a)};
  const bool at_limit = s.limit_a && most.value >= limit_a * (1 - 1e-6);
  if (figure.used <= 1 && !at_limit) {
    owed.holds(figure, solved.describe(most));
    return;
  }
  // A charger runs at its limit by design.
  if (at_limit && s.zone == Zone::traction) {
    owed.holds("gives its limit, as a charger does");
    return;
  }
  owed.broken(s.limit_a
                  ? fmt::format("'{}' gives its limit of {} and its voltage falls", owed.subject.name, figure.limit)
                  : fmt::format("'{}' is shorted: {} flow", owed.subject.name, figure.value),
              Figure{figure.value, figure.limit, std::max(figure.used, 1 + 1e-6)}, solved.describe(most))
      .fix(fmt::format("look for a contact or a wire that joins {} in this situation", ends_of(loom, s)));
}

void judge_source_short(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const auto shorted = shorted_in(solved);
  for (std::size_t i = 0; i < shorted.size(); ++i) judge_source(rule, solved, i, shorted[i], ledger);
}

}  // namespace

const Rule source_short{
    .slug = "source-short",
    .group = Group::source,
    .severity = Severity::danger,
    .promise = "In no switch state is a source shorted or asked for more than it gives.",
    .judge = judge_source_short,
};

}  // namespace loomproof
