// Work that was told to end does so between two steps, with nothing half done.
#pragma once

#include <stdexcept>

namespace loomproof {

/// Thrown by go_on() once the time is over. What was found until then is not an answer and is thrown away with it.
struct OutOfTime : std::runtime_error {
  OutOfTime();
};

/// The time is over: the next go_on() of any thread throws. The one who keeps the time is the program, not the
/// libraries.
void end_time() noexcept;

/// Time begins anew, for a program that works on one file after another, as a fuzzer does. Only when no work runs.
void begin_time() noexcept;

/// One step of a long work may begin. Costs one load from memory.
/// @throws OutOfTime after end_time()
void go_on();

}  // namespace loomproof
