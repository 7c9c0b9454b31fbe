// One finding as a person reads it.
#pragma once

#include <string>

#include "model/loom.h"
#include "rules/ledger.h"
#include "show/excerpt.h"

namespace loomproof {

/// "danger", "damage", ... for a broken one, "undecided" for one that is not decided.
std::string_view headword_of(const Obligation&);

/// Slug of the obligation's rule.
std::string_view slug_of(const Obligation&);

/// The sentence of an obligation; one made of subject and figure where the rule wrote none.
std::string sentence_of(const Obligation&);

/// Head line, place, source line, situation, notes, fix; ends with a newline.
/// @param number  of the finding in reading order, from 1: the marker that it has in the diagram
std::string finding_text(const Loom&, const Obligation&, std::size_t number, const Paint&);

/// What two findings have in common when only names and figures differ: equal shapes tell the same story.
std::string shape_of(const Obligation&);

/// A finding of a shape that was told already: head line, place, and of the rest what differs.
std::string finding_like(const Loom&, const Obligation&, std::size_t number, const Obligation& told,
                         std::size_t told_number, const Paint&);

}  // namespace loomproof
