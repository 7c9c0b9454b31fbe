// What `check` costs beside a program that only parses the file, and how it grows with the number of wires.
//
// Usage: check_cost PROGRAM PARSE_ONLY NETLIST... ; prints tables. Processes are timed whole, best of many runs.
#include <sched.h>
#include <spawn.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "bench/generated_loom.h"
#include "model/large_pages.h"
#include "read/read.h"
#include "rules/ledger.h"
#include "solve/situations.h"
#include "solve/solved.h"

extern char** environ;

namespace {

using Clock = std::chrono::steady_clock;

double since_ms(Clock::time_point start) {
  return std::chrono::duration<double, std::milli>(Clock::now() - start).count();
}

double run_ms(const std::vector<std::string>& command) {
  std::vector<char*> argv;
  for (const std::string& word : command) argv.push_back(const_cast<char*>(word.c_str()));
  argv.push_back(nullptr);
  posix_spawn_file_actions_t quiet;
  posix_spawn_file_actions_init(&quiet);
  posix_spawn_file_actions_addopen(&quiet, STDOUT_FILENO, "/dev/null", 1 /* O_WRONLY */, 0);
  const auto start = Clock::now();
  pid_t child = 0;
  if (posix_spawn(&child, argv[0], &quiet, nullptr, argv.data(), environ) != 0) return NAN;
  int status = 0;
  waitpid(child, &status, 0);
  const double ms = since_ms(start);
  posix_spawn_file_actions_destroy(&quiet);
  return WIFEXITED(status) && WEXITSTATUS(status) <= 3 ? ms : NAN;
}

double best_of(int runs, const std::vector<std::string>& command) {
  double best = INFINITY;
  for (int i = 0; i < runs; ++i) best = std::fmin(best, run_ms(command));
  return best;
}

// Slope of the straight line through log(wires), log(ms) by least squares: 1 is linear.
double growth_exponent(const std::vector<double>& wires, const std::vector<double>& ms) {
  double sx = 0, sy = 0, sxx = 0, sxy = 0;
  const auto n = static_cast<double>(wires.size());
  for (std::size_t i = 0; i < wires.size(); ++i) {
    const double x = std::log(wires[i]), y = std::log(ms[i]);
    sx += x, sy += y, sxx += x * x, sxy += x * y;
  }
  return (n * sxy - sx * sy) / (n * sxx - sx * sx);
}

struct Cost {
  double heat_ms = INFINITY, coordination_ms = INFINITY;
};

// Best of five.
Cost cost_of(const loomproof::Loom& loom) {
  const loomproof::Solved solved = loomproof::solve(loom, false);
  Cost best;
  for (int run = 0; run < 5; ++run) {
    auto start = Clock::now();
    const auto cases = loomproof::heat_cases(loom, solved.circuit, solved.points);
    const auto heats = loomproof::wire_heats(loom, solved.circuit, solved.points, cases);
    best.heat_ms = std::fmin(best.heat_ms, since_ms(start));
    start = Clock::now();
    const loomproof::FaultPaths paths = loomproof::fault_paths(solved.circuit, solved.graph);
    const auto faults = loomproof::fuse_faults(solved.circuit, paths);
    const auto protection = loomproof::protection_of(solved.circuit, solved.graph, paths, faults, heats);
    best.coordination_ms = std::fmin(best.coordination_ms, since_ms(start));
  }
  return best;
}

// A ride of two steps, repeated to its periodic state: every wire's temperature over time.
bool print_growth() {
  const std::string ride =
      "duty:\n  lit: {with: {s0: on}, for: 45 s}\n  dark: {with: {s0: off}, for: 60 s}\n  ride: [lit, dark]\n";
  fmt::print("\nheat over time (a ride of two steps) and coordination\n{:>7} {:>9} {:>11} {:>17} {:>11}\n", "wires",
             "heat ms", "a wire, us", "coordination ms", "a wire, us");
  std::vector<double> sizes, heat, coordination;
  for (int wires : {60, 200, 600, 2000}) {
    const loomproof::ReadResult result = loomproof::read_loom(loomproof::generated_loom(wires) + ride, "generated");
    if (!result.loom) {
      fmt::print(stderr, "the generated loom does not read: {}\n", result.faults.front().what);
      return false;
    }
    const auto count = static_cast<double>(result.loom->wires.size());
    const Cost cost = cost_of(*result.loom);
    sizes.push_back(count);
    heat.push_back(cost.heat_ms);
    coordination.push_back(cost.coordination_ms);
    fmt::print("{:>7} {:>9.2f} {:>11.1f} {:>17.2f} {:>11.1f}\n", result.loom->wires.size(), cost.heat_ms,
               cost.heat_ms / count * 1e3, cost.coordination_ms, cost.coordination_ms / count * 1e3);
  }
  fmt::print("growth exponent (1 is linear): heat over time {:.2f}, coordination {:.2f}\n",
             growth_exponent(sizes, heat), growth_exponent(sizes, coordination));
  return true;
}

// Keeps this process and its children on the first processor that it may use, or lets them go again.
class OneCore {
 public:
  OneCore() {
    sched_getaffinity(0, sizeof before_, &before_);
    cpu_set_t one;
    CPU_ZERO(&one);
    for (int cpu = 0; cpu < CPU_SETSIZE; ++cpu) {
      if (!CPU_ISSET(cpu, &before_)) continue;
      CPU_SET(cpu, &one);
      break;
    }
    sched_setaffinity(0, sizeof one, &one);
  }
  ~OneCore() { sched_setaffinity(0, sizeof before_, &before_); }
  OneCore(const OneCore&) = delete;
  OneCore& operator=(const OneCore&) = delete;

 private:
  cpu_set_t before_{};
};

bool print_processes(int argc, char** argv) {
  fmt::print("whole process, best of 40; without the walk over single faults: in process, best of 20\n");
  fmt::print("{:<28} {:>9} {:>9} {:>7} {:>12} {:>13} {:>7}\n", "file", "parse ms", "check ms", "times", "one core ms",
             "no faults ms", "times");
  for (int i = 3; i < argc; ++i) {
    const double parse = best_of(40, {argv[2], argv[i]});
    const double check = best_of(40, {argv[1], "check", argv[i]});
    double one_core = 0;
    {
      const OneCore pinned;
      one_core = best_of(40, {argv[1], "check", argv[i]});
    }
    std::ifstream file(argv[i]);
    const std::string text{std::istreambuf_iterator<char>(file), {}};
    double plain = INFINITY;
    for (int run = 0; run < 20; ++run) {
      const auto start = Clock::now();
      const loomproof::ReadResult result = loomproof::read_loom(text, argv[i]);
      if (!result.loom) return false;
      loomproof::judge(loomproof::solve(*result.loom, false));
      plain = std::fmin(plain, since_ms(start));
    }
    fmt::print("{:<28} {:>9.2f} {:>9.2f} {:>7.2f} {:>12.2f} {:>13.2f} {:>7.2f}\n",
               std::filesystem::path(argv[i]).filename().string(), parse, check, check / parse, one_core, plain,
               plain / parse);
  }
  return true;
}

// What a whole check spends on each of its stages.
bool print_stages() {
  using namespace loomproof;
  const std::vector<std::string> stages{"read", "situations", "heat", "coordination", "judge", "whole check"};
  std::vector<std::vector<double>> ms(stages.size());
  std::vector<double> sizes;
  fmt::print("\ngenerated looms, in process, ms (best of 3)\n{:>7} {:>12}\n", "wires", fmt::join(stages, "  "));
  for (int wires : {60, 200, 600, 2000, 6000}) {
    const std::string text = generated_loom(wires);
    std::vector<double> best(stages.size(), INFINITY);
    const auto note = [&](std::size_t stage, Clock::time_point start) {
      best[stage] = std::fmin(best[stage], since_ms(start));
    };
    for (int run = 0; run < 3; ++run) {
      auto start = Clock::now();
      const ReadResult result = read_loom(text, "generated");
      note(0, start);
      if (!result.loom) {
        fmt::print(stderr, "the generated loom does not read: {}\n", result.faults.front().what);
        return false;
      }
      const Circuit circuit = build_circuit(*result.loom);
      const CircuitGraph graph = graph_of(circuit);
      start = Clock::now();
      const Situations all = settle_all(circuit);
      note(1, start);
      start = Clock::now();
      const auto heats = wire_heats(*result.loom, circuit, all.points, heat_cases(*result.loom, circuit, all.points));
      note(2, start);
      start = Clock::now();
      const FaultPaths paths = fault_paths(circuit, graph);
      protection_of(circuit, graph, paths, fuse_faults(circuit, paths), heats);
      note(3, start);
      start = Clock::now();
      const Solved solved = solve(*result.loom);
      const double solving = since_ms(start);
      start = Clock::now();
      judge(solved);
      note(4, start);
      best[5] = std::fmin(best[5], best[0] + solving + best[4]);
    }
    sizes.push_back(wires);
    fmt::print("{:>7}", wires);
    for (std::size_t i = 0; i < stages.size(); ++i) {
      ms[i].push_back(best[i]);
      fmt::print(" {:>{}.1f}", best[i], stages[i].size() + 1);
    }
    fmt::print("\n");
  }
  fmt::print("growth exponent from 200 wires on (1 is linear):");
  for (std::size_t i = 0; i < stages.size(); ++i) {
    fmt::print(" {} {:.2f}", stages[i],
               growth_exponent({sizes.begin() + 1, sizes.end()}, {ms[i].begin() + 1, ms[i].end()}));
  }
  const double n_log_n = 30 * std::log(6000.0) / std::log(200.0);
  fmt::print("\nwhole check, 6,000 wires against 200: {:.1f} times; n log n would be {:.1f}\n", ms[5][4] / ms[5][1],
             n_log_n);
  return true;
}

}  // namespace

int main(int argc, char** argv) {
  loomproof::take_large_pages();  // as the program does
  if (argc < 4) {
    fmt::print(stderr, "usage: check_cost PROGRAM PARSE_ONLY NETLIST...\n");
    return 2;
  }
  if (!print_processes(argc, argv) || !print_stages() || !print_growth()) return 1;
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  fmt::print("\nlargest memory {:.0f} MB\n", static_cast<double>(usage.ru_maxrss) / 1024);
  return 0;
}
