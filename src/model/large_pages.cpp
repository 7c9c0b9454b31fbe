// Memory in large pages, which the system hands out far faster than as many small ones. A check of a vehicle touches
// 20 to 30 MB for the first time; 4 kB by 4 kB that is a tenth to a fifth of its time.
#include "model/large_pages.h"

#include <algorithm>
#include <new>

#if defined(__GLIBC__) && defined(__linux__)
#include <malloc.h>
#include <sys/mman.h>
#include <unistd.h>
#endif

namespace loomproof {
namespace {

constexpr std::size_t page = std::size_t{2} << 20;  // of most processors; where it is another, the pages stay small

// A wish: when it is not granted, nothing is lost.
void wish_large([[maybe_unused]] void* from, [[maybe_unused]] std::size_t bytes) {
#if defined(__GLIBC__) && defined(__linux__)
  ::madvise(from, bytes, MADV_HUGEPAGE);
#endif
}

}  // namespace

void take_large_pages() {
#if defined(__GLIBC__) && defined(__linux__)
  constexpr std::size_t at_once = 32 * page;
  ::mallopt(M_TOP_PAD, static_cast<int>(at_once));
  ::mallopt(M_TRIM_THRESHOLD, static_cast<int>(4 * at_once));  // what was touched once is kept
  ::mallopt(M_MMAP_THRESHOLD, static_cast<int>(at_once / 2));  // its largest
  void* volatile first = std::malloc(page);  // the heap grows by all of `at_once`; volatile, or both calls are left out
  std::free(first);
  const auto end = reinterpret_cast<std::uintptr_t>(::sbrk(0));
  const std::uintptr_t from = (end - at_once + page - 1) / page * page, to = end / page * page;
  if (from < to) wish_large(reinterpret_cast<void*>(from), to - from);
#endif
}

Words words_for(std::size_t count) {
  const std::size_t asked = std::max<std::size_t>(count, 1) * sizeof(std::uint64_t);
  const bool large = asked >= page / 2;
  const std::size_t bytes = large ? (asked + page - 1) / page * page : asked;
  void* words = large ? std::aligned_alloc(page, bytes) : std::malloc(bytes);
  if (words == nullptr) throw std::bad_alloc();
  if (large) wish_large(words, bytes);
  return Words(static_cast<std::uint64_t*>(words));
}

}  // namespace loomproof
