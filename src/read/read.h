// YAML text to a loom, with every error of the file in one go.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/loom.h"
#include "model/place.h"

namespace loomproof {

/// One error of the file. `what` is whole in itself, small letter, no full stop ("key 'lenght' is not known in a
/// wire"). `hint` says what to do ("did you mean 'length'?"); may be empty.
struct ReadFault {
  Place at;
  std::string what;
  std::string hint;
};

struct ReadResult {
  std::optional<Loom> loom;        // only when there is no fault; its elements are instantiated
  std::vector<ReadFault> faults;   // ordered by place
  std::vector<std::string> lines;  // of the text, for showing the line of a fault
};

/// Bounds that keep a hostile file from costing more than a second or 200 MB.
struct ReadBounds {
  std::size_t bytes = 4u << 20;
  int depth = 40;
  std::size_t nodes = 400'000;  // after aliases are followed
  std::size_t faults = 100;     // reported at the most; one more fault says how many were left out
};

/// @param text  the whole file
/// @param file  its name, for messages only; nothing is opened
ReadResult read_loom(std::string_view text, std::string file, const ReadBounds& = {});

/// A catalogue entry (or one entry of the user's `kinds`) from YAML text; faults as above.
struct KindResult {
  std::optional<Kind> kind;
  std::vector<ReadFault> faults;
};
KindResult read_kind(std::string_view yaml_text);

}  // namespace loomproof
