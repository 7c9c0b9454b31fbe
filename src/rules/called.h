// What only a name tells: asked where the circuit alone cannot say what a thing is for, and a mistake would stay
// silent.
#pragma once

#include <vector>

#include "model/loom.h"

namespace loomproof {

/// A switch of the kind `brake-switch`, or one whose name has `brake` in it.
bool is_called_brake(const Loom&, PartIndex);

/// A switch of a side stand or a seat, which takes the torque away and is no brake.
bool is_called_stand(const Loom&, PartIndex);

/// Positions in which a switch is called to stop: `stop`; of a `kill` or `estop` without one any but
/// the first, unless it says `on`, `run`, `ride` or `drive`.
std::vector<int> stop_positions(const Loom&, PartIndex);

/// `brake_lamp`, `stop-light`, a `stop_light` among the lights of one housing, the brake filament of a bulb with two.
bool is_called_brake_lamp(const Loom&, const Load&);

}  // namespace loomproof
