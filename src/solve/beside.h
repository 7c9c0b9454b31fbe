// Work that another thread may do.
#pragma once

#include <future>
#include <system_error>
#include <type_traits>

#include "solve/usable_cores.h"

namespace loomproof {

/// Does the work beside the caller where there is a processor for it and the system gives a thread, as it does not
/// where memory is scarce; else when its result is asked for. What it refers to must outlive the future.
template <class Work>
std::future<std::invoke_result_t<Work>> beside(const Work& work) {
  if (usable_cores() > 1) {
    try {
      return std::async(std::launch::async, work);
    } catch (const std::system_error&) {  // no thread to be had
    }
  }
  return std::async(std::launch::deferred, work);
}

}  // namespace loomproof
