// duty-reached: every duty point of the file is possible in at least one switch state.
//
// A duty that cannot happen is not judged by any rule, so that must not stay silent. docs/rules/duty-reached.md
#include "rules/list.h"
#include "rules/subject.h"

namespace loomproof {
namespace {

void judge(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (std::size_t d = 0; d < loom.duty.size(); ++d) {
    Obligation& owed = ledger.open(rule, {loom.duty[d].name, loom.duty[d].at, std::nullopt, std::nullopt});
    if (solved.duty_reached[d]) {
      owed.holds("possible");
      continue;
    }
    owed.broken(fmt::format("duty point '{}' is possible in no switch state", loom.duty[d].name))
        .note("its currents were judged by no rule")
        .fix("see what keeps the part dead: contactor coil, key, throttle, permit, or a position under `with`");
  }
  if (loom.duty.empty()) {
    Obligation& owed =
        ledger.open(rule, {loom.vehicle.empty() ? "the vehicle" : loom.vehicle, {}, std::nullopt, std::nullopt});
    owed.undecided("no duty point is given, so that no traction current was judged",
                   "write `duty: {cruise: {drive.battery: 45 A, drive.phase: 90 A}}`");
  }
}

}  // namespace

const Rule duty_reached{
    .slug = "duty-reached",
    .group = Group::completeness,
    .severity = Severity::nuisance,
    .promise = "Every duty point of the file is possible in at least one switch state.",
    .judge = judge,
};

}  // namespace loomproof
