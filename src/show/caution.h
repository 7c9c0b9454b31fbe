// What is said to whoever reads an answer, a page or a single sheet before they touch the vehicle: the one place for
// it.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "solve/solved.h"

namespace loomproof {

struct Caution {
  std::string_view head, text;
};

/// For any vehicle: stored energy, arc, shock, local codes.
const std::array<Caution, 4>& general_cautions();

/// Highest voltage of the traction circuit as it counts for a touch: of a pack by its full charge, of packs in series
/// together. None: the file has no traction source or does not tell the voltage of each.
std::optional<Volt> touch_volts(const Solved&);

/// Whether a voltage is above 60 V DC, the limit of ISO 6469-3 (voltage_class_limits.csv); one that is not told may be.
bool may_exceed_touch_limit(const std::optional<Volt>&);

/// The same in one line, for every sheet that can be taken to the bench by itself.
/// Its first word, DANGER, is the sheet's.
/// @param may_exceed_limit  above 60 V DC, or nobody knows: the shock is named
std::string sheet_caution(bool may_exceed_limit = true);
std::string sheet_caution(const Solved&);

/// The same in full, with the figures of this vehicle: what the test sheet says first.
std::vector<std::string> bench_cautions(const Solved&);

}  // namespace loomproof
