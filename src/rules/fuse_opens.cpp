// fuse-opens: a bolted short at the far end of every wire that a fuse protects does open it.
//
// A source that limits its current below what surely opens the fuse makes the fuse useless; so does a long thin wire.
// docs/rules/fuse-opens.md
#include <algorithm>
#include <cmath>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/fuse_band.h"
#include "units/print.h"

namespace loomproof {
namespace {

// The wire with the smallest short among those that the fuse is said to protect.
struct Weakest {
  std::optional<std::size_t> wire;
  double smallest_a = 0;
};

std::vector<Weakest> weakest_by_fuse(const Solved& solved) {
  std::vector<Weakest> out(solved.loom->elements.fuses.size());
  for (std::size_t w = 0; w < solved.protection.wires.size(); ++w) {
    const WireProtection& p = solved.protection.wires[w];
    if (p.state != WireProtection::State::device || !p.fuse || p.smallest.value <= 0) continue;
    const double seen_a = (p.smallest.value - p.beside.value) * p.seen_share;
    Weakest& slot = out[*p.fuse];
    if (!slot.wire || seen_a < slot.smallest_a) slot = {w, std::max(0.0, seen_a)};
  }
  return out;
}

void judge_fuse_opens(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const auto weakest = weakest_by_fuse(solved);
  for (std::size_t f = 0; f < loom.elements.fuses.size(); ++f) {
    const Fuse& fuse = loom.elements.fuses[f];
    const auto curve = curve_of(loom, fuse);
    if (!curve) continue;  // fuse-duty and fuse-protects-wire ask for it
    const FuseFault& fault = solved.fuse_faults[f];
    Obligation& owed = ledger.open(rule, subject_of(loom, fuse, loom.part(fuse.part).kind == "pack"));
    if (fault.untold) {
      ask_supply(loom, *fault.untold, owed);
      continue;
    }
    if (fault.largest_a <= 0) {
      owed.holds("no source can drive a current through it");
      continue;
    }
    // The colder, the more a fuse bears before it opens.
    const OpenerCurve coldest = loom.coldest ? at_ambient(*curve, cold_start(loom)) : *curve;
    const Ampere opens = surely_opens(coldest).value_or(Ampere(INFINITY));
    const std::string as_cold =
        loom.coldest ? fmt::format(", {} at {}", opener_word(fuse), show(cold_start(loom))) : "";
    const Place written = place_of(loom, fuse, fuse.rated_a);
    if (fault.largest_a < opens.value) {
      const Figure figure{show(Ampere(fault.largest_a)), show(opens), used_of_floor(fault.largest_a, opens.value)};
      owed.broken(fmt::format("'{}' opens for sure from {} and no short drives more than {} through it",
                              owed.subject.name, figure.limit, figure.value),
                  figure, "full pack" + as_cold)
          .note(fmt::format("the source limits itself before: this {} protects nothing, and a short stays for ever",
                            opener_word(fuse)))
          .see(written, "rated current")
          .fix(fmt::format(
              "a {} of at most {}, if the load allows it; else rely on the limit and size every wire for it",
              opener_word(fuse), show(Ampere(*fuse.rated_a * fault.largest_a / opens.value))));
      continue;
    }
    const Weakest& least = weakest[f];
    if (fault.battery && (!least.wire || least.smallest_a >= opens.value)) {
      ask_supply(loom, *fault.battery, owed);
      continue;
    }
    if (!least.wire) {
      owed.holds(Figure{show(Ampere(fault.largest_a)), show(opens), used_of_floor(fault.largest_a, opens.value)},
                 "full pack" + as_cold);
      continue;
    }
    const Figure figure{show(Ampere(least.smallest_a)), show(opens), used_of_floor(least.smallest_a, opens.value)};
    const std::string when =
        fmt::format("empty pack, hot wires{}, short at the far end of '{}'", as_cold, loom.wires[*least.wire].name);
    if (figure.used <= 1) {
      owed.holds(figure, when);
      continue;
    }
    owed.broken(fmt::format("a short at the far end of '{}' drives {} and '{}' opens for sure from {}",
                            loom.wires[*least.wire].name, figure.value, owed.subject.name, figure.limit),
                figure, when)
        .note("the wire bears that for ever, and what it touches may not")
        .see(loom.wires[*least.wire].at, "this wire")
        .see(written, "rated current")
        .fix(fmt::format("a smaller {}, or a larger wire", opener_word(fuse)));
  }
}

}  // namespace

const Rule fuse_opens{
    .slug = "fuse-opens",
    .group = Group::protection,
    .severity = Severity::nuisance,
    .promise = "A bolted short at the far end of every wire that a fuse protects does open it.",
    .judge = judge_fuse_opens,
};

}  // namespace loomproof
