// throttle-return: the throttle has its supply, its signal and its own return to the controller.
//
// docs/rules/throttle-return.md
#include <algorithm>

#include "rules/list.h"
#include "rules/subject.h"

namespace loomproof {
namespace {

void judge_throttle(const Solved& solved, const Input& input, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const Circuit& circuit = solved.circuit;
  const BranchFilter conductor = [&](const Branch& b) { return is_conductor(circuit, b); };
  const std::vector<int> piece = components(solved.graph, circuit, conductor);
  const auto tied = [&](TerminalIndex a, TerminalIndex b) { return piece[circuit.node(a)] == piece[circuit.node(b)]; };
  if (!is_wired(loom, input.terminal)) {
    owed.broken(fmt::format("no throttle is wired to '{}'", loom.title(input.terminal)))
        .fix("wire the throttle's signal to it")
        .as(Severity::nuisance);
    return;
  }
  const auto sensor = std::find_if(loom.elements.dividers.begin(), loom.elements.dividers.end(),
                                   [&](const Divider& d) { return tied(d.tap, input.terminal); });
  if (sensor == loom.elements.dividers.end()) {
    owed.broken(fmt::format("'{}' is wired, but to no throttle's signal", loom.title(input.terminal)))
        .fix("wire the throttle's signal to it");
    return;
  }
  if (!tied(sensor->bottom, input.reference)) {
    owed.broken(fmt::format("'{}' has no return to '{}'", loom.title(sensor->bottom), loom.title(input.reference)))
        .note("without its return the signal rises to the supply, which can read as full throttle")
        .fix(fmt::format("a wire of its own from '{}' to '{}'", loom.title(sensor->bottom),
                         loom.title(input.reference)));
    return;
  }
  const bool fed = std::any_of(loom.elements.sources.begin(), loom.elements.sources.end(), [&](const Source& s) {
    return s.part == input.part && s.zone == Zone::signal && tied(sensor->top, s.pos);
  });
  if (!fed) {
    owed.broken(fmt::format("'{}' is not fed from the sensor supply of '{}'", loom.title(sensor->top),
                            loom.part(input.part).name))
        .fix("wire it to the controller's own throttle supply");
    return;
  }
  const bool window = input.valid_low_v && input.valid_high_v && input.zero_v && input.full_v;
  const bool signal = !sensor->share.empty() && sensor->share.front() && sensor->ohm;
  if (!window) {
    owed.undecided(fmt::format("the throttle window of '{}' is not given", loom.part(input.part).name),
                   "write `throttle: {zero: 0.9 V, full: 4.1 V, valid: 0.6 V to 4.4 V}` in it");
  } else if (!signal) {
    owed.undecided(fmt::format("what '{}' gives is not known", loom.part(sensor->part).name),
                   fmt::format("write `gives: 0.8 V to 4.2 V` in part '{}'", loom.part(sensor->part).name));
  } else {
    owed.holds("supply, signal and return lead to the controller");
  }
}

void judge(const Rule& rule, const Solved& solved, Ledger& ledger) {
  for (const Input& input : solved.loom->elements.inputs) {
    if (input.analogue) judge_throttle(solved, input, ledger.open(rule, subject_of(*solved.loom, input, true)));
  }
}

}  // namespace

const Rule throttle_return{
    .slug = "throttle-return",
    .group = Group::control,
    .severity = Severity::danger,
    .promise = "The throttle has its supply, its signal and its own return to the controller.",
    .judge = judge,
};

}  // namespace loomproof
