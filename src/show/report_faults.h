// The fault dictionary packed for the page: what is live with a single fault in, in every situation that it was stored
// for.
#pragma once

#include <nlohmann/json.hpp>

#include "show/report_situations.h"
#include "solve/fault_dictionary.h"

namespace loomproof::report {

/// What the script looks up, indices instead of names and each difference once:
/// `situations` (a value for every knob), `wires` (the two test points of each, -1: stands on the reference itself,
/// -2: no meter can be set there), `things`, `sound` (by situation a reading for every test point in tenths of a volt,
/// null where nothing joins it to its reference), `on` (by situation the things that are on), `groups` (name and first
/// fault of each), `faults` (name, its wire or null, then pairs of situation and difference), `differences` (lost,
/// gained, pairs of test point and reading, 1 where it chatters).
/// @param most_bytes  above it the readings that leave a point as live or as dead as it was are left out, and `coarse`
///                    says so; std::nullopt when even so it is larger
std::optional<nlohmann::ordered_json> packed_faults(const Solved&, const FaultDictionary&, const Explorer&,
                                                    std::size_t most_bytes = 700'000);

}  // namespace loomproof::report
