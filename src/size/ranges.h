// What is left of every value's options while the constraints of a problem are followed up.
#pragma once

#include <cstddef>
#include <vector>

#include "size/problem.h"

namespace loomproof {

struct Ranges {
  std::vector<std::size_t> low, high;  // by value, both included
};

/// Every option of every value.
Ranges whole_ranges(const Problem&);

/// Takes away what no solution within the ranges can have, by each constraint alone, until nothing moves.
/// @return false when a value has nothing left; `emptied` then names it
bool narrow(const Problem&, const std::vector<std::size_t>& clauses, const std::vector<std::size_t>& budgets, Ranges&,
            std::size_t* emptied = nullptr);

bool satisfies(const Clause&, const Choice&);
double taken(const Budget&, const Choice&);
bool satisfies(const Budget&, const Choice&);

}  // namespace loomproof
