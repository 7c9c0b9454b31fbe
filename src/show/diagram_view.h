// Which wires a view shows.
#pragma once

#include <vector>

#include "model/loom.h"

namespace loomproof {

enum class DiagramView { all, power, control };

/// By wire. `power`: every wire of the traction zone, and at the poles of each low-voltage supply (battery, converter
/// output) the wires to its first device. `control`: every other wire. Together they show each wire once.
/// @param zones  by terminal; short is allowed
std::vector<bool> wires_of_view(const Loom&, const std::vector<Zone>& zones, DiagramView);

/// By wire: those that run in the bundle, for some of their way or all of it.
std::vector<bool> wires_of_bundle(const Loom&, BundleIndex);

}  // namespace loomproof
