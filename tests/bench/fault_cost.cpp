// What the walk over all situations and all single faults costs, beside ngspice on the same networks in the same run.
//
// Usage: fault_cost NETLIST... ; a loom of 24 switches and 1,000 wires comes last.
#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <random>
#include <sstream>
#include <thread>

#include "bench/switched_loom.h"
#include "model/large_pages.h"
#include "read/read.h"
#include "rules/ledger.h"
#include "solve/fault_walk.h"
#include "solve/network.h"
#include "solve/solved.h"
#include "solve/spice_deck.h"
#include "spice.h"

namespace {

using Clock = std::chrono::steady_clock;
using namespace loomproof;

double since_ms(Clock::time_point start) {
  return std::chrono::duration<double, std::milli>(Clock::now() - start).count();
}

double cpu_ms() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  const auto ms = [](const timeval& t) {
    return 1e3 * static_cast<double>(t.tv_sec) + 1e-3 * static_cast<double>(t.tv_usec);
  };
  return ms(usage.ru_utime) + ms(usage.ru_stime);
}

// Batch runs of drawn situations, each its own process as a user of it would start them.
double spice_ms(const Circuit& circuit, int runs) {
  std::mt19937 dice(5);
  Network network(circuit);
  double total = 0;
  int done = 0;
  while (done < runs) {
    Situation s;
    for (const Part& p : circuit.loom->parts)
      s.positions.push_back(static_cast<std::int8_t>(dice() % std::max<std::size_t>(1, p.positions.size())));
    const OperatingPoint point = network.settle(s);
    if (!point.trouble.empty()) continue;
    const std::string deck = laws::deck_of(circuit, point);
    const auto start = Clock::now();
    spice::operating_point(deck, {"v(" + laws::node_name(0) + ")"});
    total += since_ms(start);
    ++done;
  }
  return total / runs;
}

void walk(const std::string& name, const Loom& loom, bool beside_spice) {
  const Circuit circuit = build_circuit(loom);
  double best = INFINITY, cpu = 0;
  FaultWalk result;
  for (int run = 0; run < 3; ++run) {
    const auto start = Clock::now();
    const double before = cpu_ms();
    result = walk_faults(circuit);
    const double ms = since_ms(start);
    if (ms < best) {
      best = ms;
      cpu = cpu_ms() - before;
    }
  }
  const double per_point_us = best * 1e3 / static_cast<double>(std::max<std::size_t>(1, result.points));
  std::printf(
      "%-28s %6zu wires %5zu faults %7zu situations %8zu points %8.0f ms (%.0f ms of processors) %7.2f us a point\n",
      name.c_str(), loom.wires.size(), result.faults.size(), result.states, result.points, best, cpu, per_point_us);
  std::printf("%-28s %zu pairs of fault and cone walked, %zu cut; left out: %s\n", "", result.walked, result.cut,
              result.left_out.empty() ? "nothing" : result.left_out.c_str());
  if (!beside_spice) return;
  const double spice = spice_ms(circuit, 20);
  std::printf("%-28s ngspice in batch %.1f ms a point: %.0f times as long\n", "", spice, spice * 1e3 / per_point_us);
}

}  // namespace

int main(int argc, char** argv) {
  loomproof::take_large_pages();  // as the program does
  std::printf("%u processors, best of 3\n", std::thread::hardware_concurrency());
  for (int i = 1; i < argc; ++i) {
    std::ifstream file(argv[i]);
    std::ostringstream text;
    text << file.rdbuf();
    const ReadResult read = read_loom(text.str(), argv[i]);
    if (!read.loom) {
      std::fprintf(stderr, "%s does not read\n", argv[i]);
      return 1;
    }
    walk(argv[i], *read.loom, true);
  }
  const ReadResult read = read_loom(switched_loom(), "generated");
  if (!read.loom) {
    std::fprintf(stderr, "the generated loom does not read: %s\n", read.faults.front().what.c_str());
    return 1;
  }
  walk("24 switches", *read.loom, false);
  const auto start = Clock::now();
  const Judgement judgement = judge(solve(*read.loom));
  std::printf("%-28s the whole check of it: %.0f ms\n", "", since_ms(start));
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  std::printf("largest memory %.0f MB\n", static_cast<double>(usage.ru_maxrss) / 1024);
  return 0;
}
