// The sizes of a file and where they stand, found without knowing anything else of it.
#pragma once

#include <string_view>
#include <vector>

#include "model/slot.h"
#include "read/read.h"
#include "read/tree.h"

namespace loomproof {

/// Every size of a wire and every sized attribute of a part, in the order of the file.
std::vector<Slot> slots_of(View root);

/// The same from text; none where the text is no YAML map. Faults are read_loom's to tell.
std::vector<Slot> find_slots(std::string_view text, const ReadBounds& = {});

/// A node that says `choose` where a size is due: read as not given.
inline bool is_left_open(View value) {
  return value.is_text() && value.text() == choose_word;
}

/// One fault for all values that are left as `choose`: nothing can be solved before they are chosen.
void fault_open_slots(View root, Faults& faults);

}  // namespace loomproof
