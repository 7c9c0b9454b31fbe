// Subjects and sentences that several rules share.
#pragma once

#include <string>
#include <string_view>

#include "rules/ledger.h"
#include "solve/solved.h"

namespace loomproof {

Subject subject_of(const Loom&, WireIndex);
Subject subject_of(const Loom&, PartIndex);
/// A primitive: the part's name, with the primitive's where the part has several that can be mistaken.
Subject subject_of(const Loom&, const Element&, bool named);

/// Place of a datum where the user wrote it, else of its part.
Place place_of(const Loom&, const Element&, const Datum&);

/// "write `breaks:` of 'pack_fuse'": what an undecided verdict asks for.
std::string ask_for(const Loom&, const Element&, const Datum&, std::string_view example);

/// Undecided for want of what a charger or converter gives into the shorts of the subject.
void ask_supply(const Loom&, const UntoldSupply&, Obligation&);

/// What a device is called that opens by current: `fuse`, `breaker`, or `switch` where electronics open it.
std::string_view opener_word(const Fuse&);

/// What tells when it opens, and how to write that: a curve, or of electronics the time after which they trip.
struct CurveAsk {
  std::string_view what, write;
};
CurveAsk curve_ask(const Fuse&);

/// Undecided for want of an insulation that the table has; of one that is not given, or not in the table.
void ask_insulation(const Wire&, Obligation&);

/// Whether any wire lands on the terminal.
bool is_wired(const Loom&, TerminalIndex);

/// Shares of a limit: figure / limit, and limit / figure for a floor; a limit of zero is past at once.
double used_of_ceiling(double figure, double limit);
double used_of_floor(double figure, double floor);

}  // namespace loomproof
