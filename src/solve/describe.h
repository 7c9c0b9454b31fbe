// Situations in words.
#pragma once

#include <string>

#include "solve/operating_point.h"

namespace loomproof {

/// `full pack, key on, climb`: the switches that are away from rest in file order, then the duty point.
std::string describe(const Loom&, const Situation&);

}  // namespace loomproof
