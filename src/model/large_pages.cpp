// Memory in large pages, which the system hands out far faster than as many small ones. A check of a vehicle touches
// 20 to 30 MB for the first time; 4 kB by 4 kB that is a fifth of its time.
#include "model/large_pages.h"

#include <atomic>
#include <cstddef>
#include <cstdint>
#include <cstdlib>

#if defined(__GLIBC__) && defined(__linux__) && !defined(__SANITIZE_ADDRESS__)
#define LOOMPROOF_LARGE_PAGES
#include <malloc.h>
#include <sys/mman.h>
#endif

namespace loomproof {

#ifdef LOOMPROOF_LARGE_PAGES
namespace {

constexpr std::size_t page = std::size_t{2} << 20;   // of most processors; where it is another, the pages stay small
constexpr std::size_t heap = std::size_t{64} << 20;  // what one thread's heap spans in glibc, at a multiple of it
std::atomic<bool> taken = false;

// What is allocated after this lies in large pages up to `end`. A page from which one byte was touched stays small:
// so the start, which was, is set aside, and nothing of it is ever touched again, which costs addresses alone.
void wish_large(std::uintptr_t start, std::uintptr_t end) {
  const std::uintptr_t from = (start + 2 * page - 1) / page * page;  // behind the byte at which the heap was cut
  // A wish: when it is not granted, nothing is lost.
  ::madvise(reinterpret_cast<void*>(from), end / page * page - from, MADV_HUGEPAGE);
  [[maybe_unused]] void* volatile aside = std::malloc(from - start - 32);  // 32: glibc's own words of it and the next
}

// Where the heap of this thread has its free end. Volatile, or both calls are left out.
std::uintptr_t free_end() {
  void* volatile first = std::malloc(page);
  std::free(first);
  return reinterpret_cast<std::uintptr_t>(first);
}

}  // namespace

void take_large_pages() {
  ::mallopt(M_TOP_PAD, static_cast<int>(heap));             // a heap grows by all of it
  ::mallopt(M_TRIM_THRESHOLD, static_cast<int>(4 * heap));  // what was touched once is kept
  ::mallopt(M_MMAP_THRESHOLD, static_cast<int>(heap / 2));  // its largest
  const std::uintptr_t start = free_end();
  if (start != 0) wish_large(start, start + heap);
  taken = true;
}

void take_large_pages_here() {
  if (!taken) return;
  const std::uintptr_t start = free_end(), heap_start = start / heap * heap;
  // A heap that another thread has left behind has them already, and its free end is further on.
  if (start != 0 && start - heap_start < page / 2) wish_large(start, heap_start + heap);
}
#else
void take_large_pages() {}
void take_large_pages_here() {}
#endif

}  // namespace loomproof
