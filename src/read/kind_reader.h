// One entry of the catalogue, or of the user's `kinds`, from its tree.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "model/kind.h"
#include "read/faults.h"
#include "read/tree.h"

namespace loomproof {

/// Reads the entry without judging whether its parts fit together. `name` is empty for a catalogue entry, which says
/// its own with `kind:`.
Kind read_kind_tree(View entry, std::string_view name, Place at, Faults& faults);

/// Judges what `read_kind_tree` gave, sound or not: primitive types, their arguments, terminals, attributes,
/// dimensions, conditions.
void check_kind(const Kind& kind, Faults& faults);

/// The plain names that an attribute sets on a part (see Form), each with the dimension of its number, if it is one.
struct PlainName {
  std::string name;
  std::optional<Dimension> dimension;
};
std::vector<PlainName> plain_names(const AttributeRule& rule);

/// Last word of the plain name that one half of a pair gets: `volts`, `amps`; empty for a dimension that has none.
std::string_view pair_word(Dimension dimension);

}  // namespace loomproof
