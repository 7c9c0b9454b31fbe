// What `check` costs beside a program that only parses the file, and how it grows with the number of wires.
//
// Usage: check_cost PROGRAM PARSE_ONLY NETLIST... ; prints two tables. Processes are timed whole, best of many runs.
#include <spawn.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "bench/generated_loom.h"
#include "read/read.h"
#include "rules/ledger.h"
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

}  // namespace

int main(int argc, char** argv) {
  if (argc < 4) {
    fmt::print(stderr, "usage: check_cost PROGRAM PARSE_ONLY NETLIST...\n");
    return 2;
  }
  fmt::print("whole process, best of 40\n{:<36} {:>10} {:>10} {:>7}\n", "file", "parse ms", "check ms", "times");
  for (int i = 3; i < argc; ++i) {
    const double parse = best_of(40, {argv[2], argv[i]});
    const double check = best_of(40, {argv[1], "check", argv[i]});
    fmt::print("{:<36} {:>10.2f} {:>10.2f} {:>7.2f}\n", argv[i], parse, check, check / parse);
  }
  fmt::print("\ngenerated looms, in process\n{:>7} {:>9} {:>9} {:>9} {:>9} {:>18}\n", "wires", "read ms", "solve ms",
             "judge ms", "all ms", "per n log n, rel.");
  double base = 0;
  for (int wires : {60, 200, 600, 2000, 6000}) {
    const std::string text = loomproof::generated_loom(wires);
    double read = INFINITY, solve = INFINITY, judge = INFINITY;
    for (int run = 0; run < (wires > 1000 ? 3 : 10); ++run) {
      auto start = Clock::now();
      const loomproof::ReadResult result = loomproof::read_loom(text, "generated");
      read = std::fmin(read, since_ms(start));
      if (!result.loom) {
        fmt::print(stderr, "the generated loom does not read: {}\n", result.faults.front().what);
        return 1;
      }
      start = Clock::now();
      const loomproof::Solved solved = loomproof::solve(*result.loom);
      solve = std::fmin(solve, since_ms(start));
      start = Clock::now();
      const loomproof::Judgement judgement = loomproof::judge(solved);
      judge = std::fmin(judge, since_ms(start));
    }
    const double all = read + solve + judge;
    const double unit = all / (wires * std::log2(wires));
    if (base == 0) base = unit;
    fmt::print("{:>7} {:>9.1f} {:>9.1f} {:>9.1f} {:>9.1f} {:>18.2f}\n", wires, read, solve, judge, all, unit / base);
  }
  if (!print_growth()) return 1;
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  fmt::print("\nlargest memory {:.0f} MB\n", static_cast<double>(usage.ru_maxrss) / 1024);
  return 0;
}
