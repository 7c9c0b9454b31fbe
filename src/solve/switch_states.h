// The switch states that are walked through, sorted into families.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "solve/circuit.h"

namespace loomproof {

using Positions = std::vector<std::int8_t>;  // by part; 0 for parts that are not operated

/// States that differ only in switches that decide nothing (see deciding_parts); the first has most of these at rest.
struct Family {
  Positions key;  // with every switch that decides nothing at rest
  std::vector<Positions> members;
};

struct SwitchStates {
  std::vector<Family> families;       // by ascending key
  std::vector<std::size_t> deciding;  // parts
  std::size_t possible = 0;
  std::size_t walked = 0;
  std::string left_out;  // in words; empty when exhaustive
};

SwitchStates switch_states(const Circuit&);

/// Number of positions of the parts together; where it is beyond 2^40, any number beyond.
std::size_t count_states(const Loom&, const std::vector<std::size_t>& parts);

/// The family of a state, or nullptr where it is not walked.
const Family* find_family(const SwitchStates&, const Positions& key);

}  // namespace loomproof
