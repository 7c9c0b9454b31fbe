// Memory in large pages, which the system hands out far faster than as many small ones.
#pragma once

namespace loomproof {

/// For a program to call before anything else: the heap of its first thread, and of those that ask for it. Where the
/// system has no large pages to give, nothing changes but the address space that the heap sets aside. Results do not
/// depend on it.
void take_large_pages();

/// For a thread to call before it allocates anything: its heap, in a program that has called take_large_pages().
void take_large_pages_here();

}  // namespace loomproof
