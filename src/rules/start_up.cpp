// start-up: from rest every contactor comes in and the drive comes to life; nothing waits for what it must feed first.
//
// docs/rules/start-up.md
#include "rules/list.h"
#include "rules/story.h"
#include "rules/subject.h"

namespace loomproof {
namespace {

void judge_start_up(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const FaultWalk& walk = *solved.faults;
  const auto locked = [&](Target::What what, std::size_t i) -> const FaultWalk::Deadlock* {
    for (const FaultWalk::Deadlock& d : walk.deadlocks) {
      if (d.target.what == what && d.target.index == i) return &d;
    }
    return nullptr;
  };
  const auto owe = [&](PartIndex part, bool ever, const FaultWalk::Deadlock* lock, const std::string& starts) {
    if (!ever && lock == nullptr) return;  // on in no way at all: supply-voltage and duty-reached say why
    Obligation& owed = ledger.open(rule, subject_of(loom, part));
    if (ever) {
      owed.holds(fmt::format("{} from rest", starts));
      return;
    }
    owed.broken(fmt::format("{} only when it already has: from rest nothing starts it", starts), std::nullopt,
                solved.describe(lock->situation))
        .note("its supply lies behind what it has to close: once on it stays on, and it never comes on")
        .fix("feed the coil from a supply that is there before the contactor closes");
  };
  for (std::size_t i = 0; i < walk.output_on.size(); ++i) {
    const Output& o = loom.elements.outputs[i];
    if (o.name == "torque")
      owe(o.part, walk.output_on[i] != 0, locked(Target::What::output, i),
          fmt::format("'{}' gives torque", loom.part(o.part).name));
  }
  for (std::size_t i = 0; i < walk.coil_on.size(); ++i) {
    const Coil& c = loom.elements.coils[i];
    if (loom.part(c.part).kind == "contactor")
      owe(c.part, walk.coil_on[i] != 0, locked(Target::What::coil, i),
          fmt::format("'{}' closes", loom.part(c.part).name));
  }
}

}  // namespace

const Rule start_up{
    .slug = "start-up",
    .group = Group::control,
    .severity = Severity::nuisance,
    .promise = "From rest every contactor comes in and the drive comes to life.",
    .judge = judge_start_up,
};

}  // namespace loomproof
