// bms-permit: what watches the cells can stop the drive, and the charger where there is one.
//
// docs/rules/bms-permit.md
#include "rules/list.h"
#include "rules/subject.h"

namespace loomproof {
namespace {

void judge_permit(const Loom& loom, const Contact& contact, const char* stops, const char* danger, Obligation& owed) {
  if (is_wired(loom, contact.a) && is_wired(loom, contact.b)) {
    owed.holds("wired");
    return;
  }
  const std::string name = loom.part(contact.part).name;
  owed.broken(fmt::format("'{}' sees the cells and cannot stop {}: '{}' and '{}' are not wired", name, stops,
                          loom.title(contact.a), loom.title(contact.b)))
      .note(danger)
      .fix(fmt::format("lead the line that permits {} through '{}' and '{}'", stops, loom.title(contact.a),
                       loom.title(contact.b)));
}

void judge_bms_permit(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  bool charger = false;
  for (const Source& s : loom.elements.sources) charger = charger || (s.zone == Zone::traction && !s.sinks);
  for (const Contact& contact : loom.elements.contacts) {
    const bool drive = contact.name == "drive_permit";
    if (!drive && contact.name != "charge_permit") continue;
    if (!drive && !charger) continue;
    Obligation& owed = ledger.open(rule, subject_of(loom, contact, true));
    if (drive) {
      judge_permit(loom, contact, "the drive",
                   "one weak cell is driven below its limit and shorts at the next charging", owed);
    } else {
      judge_permit(loom, contact, "the charger",
                   "one full cell is charged on while the others fill: it vents and burns", owed);
    }
  }
}

}  // namespace

const Rule bms_permit{
    .slug = "bms-permit",
    .group = Group::source,
    .severity = Severity::danger,
    .promise = "What watches the cells can stop the drive, and the charger where there is one.",
    .judge = judge_bms_permit,
};

}  // namespace loomproof
