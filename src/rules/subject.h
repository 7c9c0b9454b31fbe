// Subjects and sentences that several rules share.
#pragma once

#include <string>

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

/// Whether any wire lands on the terminal.
bool is_wired(const Loom&, TerminalIndex);

/// Shares of a limit: figure / limit, and limit / figure for a floor; a limit of zero is past at once.
double used_of_ceiling(double figure, double limit);
double used_of_floor(double figure, double floor);

}  // namespace loomproof
