// Memory in large pages, which the system hands out far faster than as many small ones.
#pragma once

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <memory>

namespace loomproof {

/// For a program to call before anything else: the heap of its first thread. Where the system has no large pages to
/// give, nothing changes but the address space that the heap sets aside. Results do not depend on it.
void take_large_pages();

struct FreeWords {
  void operator()(std::uint64_t* words) const { std::free(words); }
};
/// Words of eight bytes, not written yet.
using Words = std::unique_ptr<std::uint64_t[], FreeWords>;

/// Room for so many words, for any thread; from a megabyte on in large pages, of which it takes up whole ones.
/// @throws std::bad_alloc
Words words_for(std::size_t count);

}  // namespace loomproof
