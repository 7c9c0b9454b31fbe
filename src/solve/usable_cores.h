// How many threads are of use.
#pragma once

namespace loomproof {

/// Processors that this process may run on, at least 1.
unsigned usable_cores();

}  // namespace loomproof
