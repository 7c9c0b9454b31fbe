// The fault dictionary as JSON (docs/json.md, "The fault dictionary").
#pragma once

#include <nlohmann/json.hpp>

#include "solve/fault_dictionary.h"

namespace loomproof {

nlohmann::ordered_json json_of_faults(const Loom&, const FaultDictionary&);

}  // namespace loomproof
