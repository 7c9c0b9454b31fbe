// Looms from texts, and situations drawn by lot.
#pragma once

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdint>
#include <random>
#include <string>
#include <utility>

#include "read/read.h"
#include "solve/operating_point.h"

inline loomproof::Loom loom_of(const std::string& text) {
  loomproof::ReadResult read = loomproof::read_loom(text, "test");
  REQUIRE(read.loom.has_value());
  return std::move(*read.loom);
}

inline loomproof::Situation drawn(const loomproof::Loom& loom, std::mt19937& dice) {
  loomproof::Situation s;
  for (const loomproof::Part& p : loom.parts) {
    const auto n = std::max<std::size_t>(1, p.positions.size());
    s.positions.push_back(static_cast<std::int8_t>(dice() % n));
  }
  s.charge = dice() % 2 == 0 ? loomproof::Charge::full : loomproof::Charge::empty;
  return s;
}
