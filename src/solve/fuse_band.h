// The time-current band of a fuse of the loom.
#pragma once

#include <optional>

#include "model/loom.h"
#include "solve/fuse_curve.h"

namespace loomproof {

/// Its generic curve or the user's points, at its ambient; nullopt when rating or curve is not given.
std::optional<OpenerCurve> curve_of(const Loom&, const Fuse&);

}  // namespace loomproof
