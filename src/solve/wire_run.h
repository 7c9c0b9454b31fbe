// What a wire goes on as, and the fuses that stand in a row with it.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "solve/circuit.h"

namespace loomproof {

/// A wire with what it goes on as: no thicker wires, joined to it and to nothing else.
struct WireRun {
  std::vector<std::size_t> branches;
  int from = 0, to = 0;  // nodes
  Metre length{};
};

/// nullopt where a length or a size on the way is not given.
std::optional<WireRun> run_of(const Circuit&, const Branch& wire);

/// Fuses through which all that flows in the wire flows too: it, or what it goes on as, joins them and nothing else.
std::vector<std::size_t> fuses_in_row(const Circuit&, const Branch& wire);

}  // namespace loomproof
