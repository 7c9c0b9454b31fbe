// Names of frame studs that look like one name written in two ways.
#pragma once

#include <string>
#include <vector>

#include "model/loom.h"

namespace loomproof {

/// A sentence for each: a frame takes any name for a stud, so a slip of the keyboard is silently a second stud. Nothing
/// for names that differ in a number or in their last letter, which are told apart on purpose.
std::vector<std::string> likely_slips_in_studs(const Loom&);

}  // namespace loomproof
