// One flag for the whole program.
#include "model/time_limit.h"

#include <atomic>

namespace loomproof {
namespace {

std::atomic<bool> time_is_over{false};

}  // namespace

OutOfTime::OutOfTime() : std::runtime_error("the time limit is over; nothing is said of what was found until then") {}

void end_time() noexcept {
  time_is_over.store(true, std::memory_order_relaxed);
}

void begin_time() noexcept {
  time_is_over.store(false, std::memory_order_relaxed);
}

void go_on() {
  if (time_is_over.load(std::memory_order_relaxed)) throw OutOfTime();
}

}  // namespace loomproof
