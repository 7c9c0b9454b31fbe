// precharge: no contact closes a source onto an empty capacitance beyond what it may make.
//
// Peak = V / (source and leads), the capacitance being a short at first. docs/rules/precharge.md
#include <algorithm>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/closing.h"
#include "solve/inrush.h"
#include "units/print.h"

namespace loomproof {
namespace {

std::string joule_and_peak(const CapacitorInrush& inrush) {
  return fmt::format("{} peak, {} in the contact and the leads", show(inrush.peak), show(inrush.energy));
}

void judge_closing(const Solved& solved, const Closing& closing, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const Contact& contact = loom.elements.contacts[closing.contact];
  const Capacitance& bank = loom.elements.capacitances[closing.capacitance];
  const std::string bank_name = loom.part(bank.part).name;
  if (closing.precharge_ohm) {
    owed.holds(fmt::format("'{}' charges through {} first", bank_name, show(Ohm(*closing.precharge_ohm))));
    return;
  }
  if (!bank.farad) {
    owed.undecided(fmt::format("'{}' closes onto '{}', whose capacitance is not given, without precharge",
                               owed.subject.name, bank_name),
                   ask_for(loom, bank, bank.farad, "2200 uF"));
    return;
  }
  const CapacitorInrush inrush = capacitor_inrush(Volt(closing.source_v), Ohm(closing.loop_ohm), Farad(*bank.farad));
  const Datum& makes = contact.makes_a ? contact.makes_a : contact.carries_a;
  const Figure figure{show(inrush.peak), makes ? show(Ampere(*makes)) : "no precharge",
                      makes ? used_of_ceiling(inrush.peak.value, *makes) : 1e6};
  if (closing.source_known && makes && figure.used <= 1) {
    owed.holds(figure, "full pack, capacitance empty");
    return;
  }
  owed.broken(fmt::format("'{}' closes onto the empty {} of '{}' without precharge", owed.subject.name,
                          show(Farad(*bank.farad)), bank_name),
              figure, "full pack, capacitance empty")
      .note(closing.source_known ? joule_and_peak(inrush)
                                 : "the peak cannot be told while the resistance of the source is not given")
      .note("such a spark welds contacts")
      .see(loom.part(bank.part).at, "the capacitance is in here")
      .fix("put a resistor with its own relay around the contact and close it first");
}

void judge(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (const Closing& closing : closings(solved.circuit, solved.graph, solved.points)) {
    const Contact& contact = loom.elements.contacts[closing.contact];
    judge_closing(solved, closing, ledger.open(rule, subject_of(loom, contact, false)));
  }
  // A converter's input stage has a capacitance whether or not the file says so.
  for (const Converter& c : loom.elements.converters) {
    const Part& part = loom.part(c.part);
    if (part.find("capacitance") != nullptr || part.find("inrush") != nullptr) continue;
    if (!is_wired(loom, c.in_pos)) continue;
    ledger.open(rule, subject_of(loom, c.part))
        .undecided(
            fmt::format("what '{}' draws when its input is switched on is not given", part.name),
            fmt::format("write `inrush: 15 A` (where it limits it by itself) or `capacitance: 220 uF` in part '{}'",
                        part.name));
  }
}

}  // namespace

const Rule precharge{
    .slug = "precharge",
    .group = Group::inrush,
    .severity = Severity::damage,
    .promise = "No contact closes a source onto an empty capacitance beyond what it may make.",
    .judge = judge,
};

}  // namespace loomproof
