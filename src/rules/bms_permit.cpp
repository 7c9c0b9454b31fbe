// bms-permit: what watches the cells can stop the drive, and the charger where there is one.
//
// Each contact is opened in every situation in which the drive pulls or the charger charges; what runs on is not
// stopped by it. docs/rules/bms-permit.md
#include "rules/list.h"
#include "rules/subject.h"
#include "solve/permit_contacts.h"

namespace loomproof {
namespace {

struct Permit {
  std::size_t contact = 0;
  std::optional<std::size_t> other;  // the second contact of the same part
  Runs what = Runs::drive;

  const char* stopped() const { return what == Runs::drive ? "the drive" : "the charger"; }
  const char* runs() const { return what == Runs::drive ? "pulls" : "charges"; }
  const char* danger() const {
    return what == Runs::drive ? "one weak cell is driven below its limit and shorts at the next charging"
                               : "one full cell is charged on while the others fill: it vents and burns";
  }
};

std::optional<Runs> permits(const Contact& contact) {
  if (contact.name == "drive_permit") return Runs::drive;
  if (contact.name == "charge_permit") return Runs::charger;
  return std::nullopt;
}

std::optional<std::size_t> other_of(const Loom& loom, std::size_t contact) {
  const auto& all = loom.elements.contacts;
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (i != contact && all[i].part == all[contact].part && permits(all[i])) return i;
  }
  return std::nullopt;
}

std::string ends_of(const Loom& loom, std::size_t contact) {
  const Contact& c = loom.elements.contacts[contact];
  return fmt::format("'{}' and '{}'", loom.title(c.a), loom.title(c.b));
}

// Never seen to run: two wires that have changed places may be why.
void judge_idle(const Loom& loom, PermitContacts& contacts, const Permit& permit, Obligation& owed) {
  const auto crossed = permit.other ? contacts.crossed(permit.contact, *permit.other, permit.what) : std::nullopt;
  if (crossed) {
    owed.broken(fmt::format("the wires at '{}' and '{}' are exchanged: {} never {}", loom.title((*crossed)[0]),
                            loom.title((*crossed)[1]), permit.stopped(), permit.runs()))
        .of_wiring()
        .note(fmt::format("with the two wires in each other's place {} {}", permit.stopped(), permit.runs()))
        .fix("let them change places, or those at the other ends of the two contacts");
    return;
  }
  owed.undecided(fmt::format("{} {} in no situation that was settled: what this contact stops is not known",
                             permit.stopped(), permit.runs()),
                 "see what keeps it from running: key, contactor, permit, bus voltage");
}

void judge_permit(const Solved& solved, PermitContacts& contacts, const Permit& permit, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const std::string name = loom.part(loom.elements.contacts[permit.contact].part).name;
  const std::string ends = ends_of(loom, permit.contact);
  const OpenedPermit opened = contacts.open(permit.contact, permit.what);
  if (!opened.ran) {
    judge_idle(loom, contacts, permit, owed);
    return;
  }
  if (opened.still) {
    owed.broken(
            fmt::format("'{}' cannot stop {}: it still {} with {} parted", name, permit.stopped(), permit.runs(), ends),
            std::nullopt, solved.describe(solved.points[*opened.still].situation))
        .note(permit.danger());
    if (permit.other && contacts.open(*permit.other, permit.what).stops()) {
      owed.note(fmt::format("{} stop {} instead: the two contacts are exchanged", ends_of(loom, *permit.other),
                            permit.stopped()))
          .of_wiring()
          .fix(fmt::format("move the wires at {} to {}", ends_of(loom, *permit.other), ends));
    } else {
      owed.fix(fmt::format("lead the line that permits {} through {}, with no way around", permit.stopped(), ends));
    }
    return;
  }
  if (opened.unsettled) {
    owed.undecided(fmt::format("with {} parted the circuit does not settle", ends),
                   "see what chatters once this contact is open");
    return;
  }
  owed.holds(fmt::format("stops {}", permit.stopped()));
}

void judge_wired(const Solved& solved, PermitContacts& contacts, const Permit& permit, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const Contact& contact = loom.elements.contacts[permit.contact];
  if (is_wired(loom, contact.a) && is_wired(loom, contact.b)) {
    judge_permit(solved, contacts, permit, owed);
    return;
  }
  owed.broken(fmt::format("'{}' sees the cells and cannot stop {}: {} are not wired", loom.part(contact.part).name,
                          permit.stopped(), ends_of(loom, permit.contact)))
      .of_wiring()
      .note(permit.danger())
      .fix(fmt::format("lead the line that permits {} through {}", permit.stopped(), ends_of(loom, permit.contact)));
}

void judge_bms_permit(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  bool charger = false;
  for (const Source& s : loom.elements.sources) charger = charger || (s.zone == Zone::traction && !s.sinks);
  std::optional<PermitContacts> contacts;
  for (std::size_t i = 0; i < loom.elements.contacts.size(); ++i) {
    const auto what = permits(loom.elements.contacts[i]);
    if (!what || (*what == Runs::charger && !charger)) continue;
    if (!contacts) contacts.emplace(solved);
    judge_wired(solved, *contacts, {i, other_of(loom, i), *what},
                ledger.open(rule, subject_of(loom, loom.elements.contacts[i], true)));
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
