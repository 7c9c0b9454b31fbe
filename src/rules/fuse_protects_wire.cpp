// fuse-protects-wire: whatever a wire touches, a device in the loop opens before the wire is damaged.
//
// Over all currents between what the wire carries for ever and the largest short circuit: slowest opening against time
// to damage. The worst is a resistive fault just below what opens the device. docs/rules/fuse-protects-wire.md
#include <cmath>

#include "rules/list.h"
#include "rules/subject.h"
#include "units/print.h"

namespace loomproof {
namespace {

// "the fuse opens only after 9.48 min".
std::string opening(const Fuse& fuse, Second after) {
  return std::isinf(after.value) ? fmt::format("the {} never opens at that", opener_word(fuse))
                                 : fmt::format("the {} opens only after {}", opener_word(fuse), show(after));
}

// What a bolted short drives: it usually clears, and is not the case that burns.
std::string bolted(const WireProtection& p) {
  if (p.smallest.value <= 0) return fmt::format("a bolted short drives {}", show(p.largest));
  // Where a source limits itself, what else is on decides and not where the short lies.
  if (p.smallest >= p.largest) return fmt::format("a bolted short drives {} to {}", show(p.largest), show(p.smallest));
  return fmt::format("a bolted short drives {} (full pack, near end) to {} (empty pack, hot wires, far end)",
                     show(p.largest), show(p.smallest));
}

void judge_wire(const Solved& solved, std::size_t w, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const Wire& wire = loom.wires[w];
  const WireProtection& p = solved.protection.wires[w];
  const auto fuse_name = [&] { return loom.part(loom.elements.fuses[*p.fuse].part).name; };
  using State = WireProtection::State;
  switch (p.state) {
    case State::no_source:
      owed.holds("no source can drive a fault through it");
      return;
    case State::short_lead:
      owed.holds("within the length allowed without a device");
      return;
    case State::limited:
      owed.holds(fmt::format("no source behind it gives more than the {} that it carries", show(p.allowed)));
      return;
    case State::unknown:
      if (p.untold) {
        ask_supply(loom, *p.untold, owed);
      } else if (p.fuse) {
        const Fuse& fuse = loom.elements.fuses[*p.fuse];
        const bool rating = p.missing == "rated";
        owed.undecided(fmt::format("'{}' depends on '{}', whose {} is not given", wire.name, fuse_name(),
                                   rating ? "rated current" : curve_ask(fuse).what),
                       rating ? ask_for(loom, fuse, fuse.rated_a, "10 A")
                              : fmt::format("write {} in part '{}'", curve_ask(fuse).write, fuse_name()))
            .see(loom.part(fuse.part).at, "this device");
      } else if (p.missing == "insulation") {
        ask_insulation(wire, owed);
      } else {
        owed.undecided(fmt::format("{} of '{}' is not known", p.missing, wire.name),
                       fmt::format("write `{}:` in it", p.missing));
      }
      return;
    case State::device:
      if (!p.fuse) {
        owed.holds("its source ends here");
        return;
      }
      owed.holds(
          Figure{fmt::format("{} opens in {:.0f} % of the time to damage", fuse_name(), p.coordination.ratio * 100),
                 "100 %", p.coordination.ratio});
      return;
    case State::none:
      owed.broken(fmt::format("no device opens when '{}' touches '{}'", wire.name,
                              p.touches ? loom.wire(*p.touches).name : std::string("the other pole")),
                  Figure{"no device", show(p.allowed), INFINITY})
          .fix(fmt::format("put a fuse of at most {} where it leaves the source", show(p.allowed)));
      return;
    case State::oversize:
      break;
  }
  const Fuse& fuse = loom.elements.fuses[*p.fuse];
  const Coordination& c = p.coordination;
  const std::string carries = p.allowed.value > 0
                                  ? fmt::format("'{}' carries {} for ever", wire.name, show(p.allowed))
                                  : fmt::format("'{}' is past its limit without any current", wire.name);
  owed.broken(fmt::format("{} and '{}' ({}) does not open in time", carries, fuse_name(), show(Ampere(*fuse.rated_a))),
              Figure{show(Ampere(*fuse.rated_a)), show(p.allowed), c.ratio});
  // No fault draws more than the sources give, however much the fuse would let pass.
  const bool drawn = p.largest.value <= 0 || c.worst <= p.largest;
  const std::string after = std::isinf(c.damage_after.value) ? "in time" : "after " + show(c.damage_after);
  owed.note(fmt::format("{} it {}; {}",
                        drawn ? fmt::format("a fault that draws {} damages", show(c.worst))
                              : fmt::format("{} would damage", show(c.worst)),
                        after, opening(fuse, c.opens_after)));
  if (p.behind) {
    owed.note(
        fmt::format("a short of '{}' itself is excused by its length; a fault behind '{}' runs through it as well",
                    wire.name, fuse_name()));
  } else if (p.largest.value > 0) {
    owed.note(bolted(p));
  }
  if (p.seen_share < 0.995)
    owed.note(fmt::format("the {} sees {:.0f} % of it: another way feeds the same fault", opener_word(fuse),
                          p.seen_share * 100));
  if (p.beside.value > 0) {
    std::string names;
    for (PartIndex part : p.beside_by) names += (names.empty() ? "'" : ", '") + loom.part(part).name + "'";
    owed.note(fmt::format("{} of it come from {} and do not pass the {}", show(p.beside), names, opener_word(fuse)));
  }
  if (p.touches)
    owed.see(loom.wire(*p.touches).at,
             fmt::format("the loop closes where it touches '{}'", loom.wire(*p.touches).name));
  owed.see(place_of(loom, fuse, fuse.rated_a), fmt::format("rated current of the {}", opener_word(fuse)));
  owed.fix(fmt::format("a fuse of at most {} at its source end, or a larger wire", show(p.allowed)));
}

void judge_fuse_protects_wire(const Rule& rule, const Solved& solved, Ledger& ledger) {
  std::vector<bool> bare(solved.loom->wires.size(), false);
  for (const BareLead& lead : solved.protection.bare_leads) {
    for (WireIndex w : lead.wires) bare[w.value] = true;
  }
  for (std::size_t w = 0; w < bare.size(); ++w) {
    if (bare[w]) continue;  // one cause, one finding: unfused-source-lead has it
    judge_wire(solved, w, ledger.open(rule, subject_of(*solved.loom, WireIndex{w})));
  }
}

}  // namespace

const Rule fuse_protects_wire{
    .slug = "fuse-protects-wire",
    .group = Group::protection,
    .severity = Severity::danger,
    .promise = "Whatever a wire touches, a device in the loop opens before the wire is damaged.",
    .judge = judge_fuse_protects_wire,
};

}  // namespace loomproof
