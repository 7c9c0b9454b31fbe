// The attributes of one part: what the user wrote, what a choice brings along, what is assumed.
#pragma once

#include "model/kind.h"
#include "model/loom.h"
#include "read/faults.h"
#include "read/tree.h"

namespace loomproof {

/// Fills `part.attributes` and `part.positions` from the part's map; `is` is skipped. Faults for what is unknown,
/// malformed, or needed and absent.
void read_attributes(View body, const Kind& kind, Part& part, Faults& faults);

/// Sets the plain names of `rule` on the part from one text, as an assumption or a choice does.
/// @return what is wrong with the text; empty when nothing is
std::string set_attribute(const AttributeRule& rule, std::string_view text, Place at, bool assumed, Part& part);

}  // namespace loomproof
