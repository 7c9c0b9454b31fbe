// Where dangerous voltage begins.
#pragma once

namespace loomproof {

/// V d.c.; above it a circuit is of class B. UN R100 and R136, ISO 6469-3 (tests/reference/voltage_class_limits.csv).
inline constexpr double class_a_v = 60;

}  // namespace loomproof
