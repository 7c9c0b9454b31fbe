// Work that another thread may do.
#pragma once

#include <atomic>
#include <cstddef>
#include <future>
#include <system_error>
#include <type_traits>
#include <vector>

#include "model/large_pages.h"
#include "solve/usable_cores.h"

namespace loomproof {

/// Does the work beside the caller where there is a processor for it and the system gives a thread, as it does not
/// where memory is scarce; else when its result is asked for. What it refers to must outlive the future.
template <class Work>
std::future<std::invoke_result_t<Work>> beside(const Work& work) {
  if (usable_cores() > 1) {
    try {
      return std::async(std::launch::async, [work] {
        take_large_pages_here();
        return work();
      });
    } catch (const std::system_error&) {  // no thread to be had
    }
  }
  return std::async(std::launch::deferred, work);
}

/// Does a work piece by piece, 0 to pieces - 1, each by whichever thread is free.
/// @param workers  threads at most, the caller's among them
/// @param begin    called by each thread for its own worker, which is then called with the numbers of pieces
template <class Begin>
void share_out(std::size_t pieces, std::size_t workers, const Begin& begin) {
  std::atomic<std::size_t> next{0};
  const auto run = [&] {
    auto worker = begin();
    for (std::size_t i = next++; i < pieces; i = next++) worker(i);
  };
  std::vector<std::future<void>> others;
  for (std::size_t w = 1; w < workers; ++w) others.push_back(beside(run));
  run();
  for (auto& other : others) other.get();
}

}  // namespace loomproof
