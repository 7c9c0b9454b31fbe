// What a contact parts: the voltage across it once it stands open, and the consumers that hang on it alone.
#pragma once

#include <cstddef>
#include <vector>

#include "solve/solved.h"

namespace loomproof {

/// By contact: the largest voltage between its two ends over the settled points in which it stands open, once it has
/// been opened in the point of its largest current (full pack, no duty, everything else left to settle), and against
/// a capacitance that is still empty. Not the voltage of the piece that it belongs to: a switch of the 12 V side sees
/// 12 V also where a common negative ties that to the traction circuit. No point: never any voltage.
std::vector<Extreme> open_contact_voltages(const Solved&);

/// Loads that lose their supply when the contact alone opens in `point` (a settled point in which it is closed), the
/// other contacts staying as they are; indices into Elements::loads, then into Elements::converters.
struct Downstream {
  std::vector<std::size_t> loads, converters, coils;
};
Downstream downstream_of(const Solved&, std::size_t contact, const OperatingPoint& point);

/// The same for any branch that is taken away, a fuse for one.
Downstream downstream_of(const Solved&, const Branch&, const OperatingPoint& point);

/// The settled point in which a contact carries most without any duty; none: it never carries.
Extreme most_at_rest(const Solved&, std::size_t contact);

/// Whether a contact is closed by a coil, or by what its part reads (a controller's driver), directly or as one of
/// several conditions.
bool closed_by_coil(const Condition&);
bool closed_by_logic(const Condition&);

/// Whether a condition names a position of the part itself.
bool moves_by_hand(const Condition&);

}  // namespace loomproof
