// How many threads are of use.
#include "solve/usable_cores.h"

#include <sched.h>

#include <algorithm>
#include <thread>

namespace loomproof {

// The library counts those of the machine, whichever of them it may use.
unsigned usable_cores() {
  cpu_set_t mine;
  CPU_ZERO(&mine);
  if (sched_getaffinity(0, sizeof mine, &mine) != 0) return std::max(1u, std::thread::hardware_concurrency());
  return std::max(1u, static_cast<unsigned>(CPU_COUNT(&mine)));
}

}  // namespace loomproof
