// What a line of the circuit can do at most, in whatever state.
#pragma once

#include <cstddef>

#include "solve/fault_lines.h"

namespace loomproof {

/// Open voltage of a line that drives current, at the charge at which it is highest, in V; 0: it drives none, infinite:
/// nothing is known.
double lift_v(const Circuit&, const FaultLines&, std::size_t line);

/// The most that a line drives by itself, in A: its limit, or into a short circuit.
double gives_a(const Circuit&, const FaultLines&, std::size_t line);

/// The most that a line carries in either direction, in A. What draws a power or a current of its own draws no more
/// than that at its lowest voltage, a fuse no more than what opens it, all else what its resistance lets pass.
/// @param lifts_v     of all sources together
/// @param fuses_open  whether a fuse opens at fuse_opens_at before anything else is judged
double passes_a(const Circuit&, const FaultLines&, std::size_t line, double lifts_v, bool fuses_open);

}  // namespace loomproof
