// A place in the user's file that holds a size: of a wire, a fuse, a contact or a resistor, chosen or left as `choose`.
#pragma once

#include <string>
#include <string_view>

#include "model/place.h"

namespace loomproof {

/// What stands in place of a value that `size` is to find.
inline constexpr std::string_view choose_word = "choose";

struct Slot {
  bool of_wire = false;   // else of a part
  std::string owner;      // name of the wire or part
  std::string attribute;  // "size" of a wire; "rated", "carries" ... of a part
  Place at;               // of the text; two slots that share one text (a YAML alias) share its place
  std::string written;    // "35 mm2", or "choose"

  bool is_open() const { return written == choose_word; }
};

/// Whether an attribute of a part of this kind is a size that may be left as `choose`: `rated` of a fuse or breaker,
/// `sense_fuse.rated` of a pack, `carries` of whatever has contacts, `ohms`, `watts` and `pulse` of a resistor.
bool is_sized_attribute(std::string_view kind, std::string_view attribute);

}  // namespace loomproof
