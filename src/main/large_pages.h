// The heap in large pages, which the system hands out far faster than as many small ones.
#pragma once

namespace loomproof {

/// To be called before anything else; where the system has no large pages to give, nothing changes but the address
/// space that the heap sets aside. Results do not depend on it.
void take_large_pages();

}  // namespace loomproof
