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
  fmt::print("\nof that, wire heat over the duty and coordination\n{:>7} {:>9} {:>17} {:>15}\n", "wires", "heat ms",
             "coordination ms", "per wire, rel.");
  base = 0;
  for (int wires : {60, 200, 600, 2000, 6000}) {
    const loomproof::ReadResult result = loomproof::read_loom(loomproof::generated_loom(wires), "generated");
    if (!result.loom) return 1;
    const loomproof::Loom& loom = *result.loom;
    const loomproof::Solved solved = loomproof::solve(loom);
    double heat = INFINITY, coordination = INFINITY;
    for (int run = 0; run < 5; ++run) {
      auto start = Clock::now();
      const auto cases = loomproof::heat_cases(loom, solved.circuit, solved.points);
      const auto heats = loomproof::wire_heats(loom, solved.circuit, solved.points, cases);
      heat = std::fmin(heat, since_ms(start));
      start = Clock::now();
      const loomproof::FaultPaths paths = loomproof::fault_paths(solved.circuit, solved.graph);
      const auto faults = loomproof::fuse_faults(solved.circuit, paths);
      const auto protection = loomproof::protection_of(solved.circuit, solved.graph, paths, faults, heats);
      coordination = std::fmin(coordination, since_ms(start));
    }
    const double unit = (heat + coordination) / wires;
    if (base == 0) base = unit;
    fmt::print("{:>7} {:>9.1f} {:>17.1f} {:>15.2f}\n", wires, heat, coordination, unit / base);
  }
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  fmt::print("\nlargest memory {:.0f} MB\n", static_cast<double>(usage.ru_maxrss) / 1024);
  return 0;
}
