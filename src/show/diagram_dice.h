// Numbers that look random and are the same in every run.
#pragma once

#include <cstdint>

namespace loomproof::diagram {

class Dice {  // xorshift32, Marsaglia 2003
 public:
  explicit Dice(std::uint32_t seed) : state_(seed * 2654435761U + 12345U) {}
  std::uint32_t next() {
    state_ ^= state_ << 13;
    state_ ^= state_ >> 17;
    state_ ^= state_ << 5;
    return state_;
  }
  int below(int bound) { return bound <= 0 ? 0 : static_cast<int>(next() % static_cast<std::uint32_t>(bound)); }
  double share() { return next() / 4294967296.0; }

 private:
  std::uint32_t state_;
};

}  // namespace loomproof::diagram
