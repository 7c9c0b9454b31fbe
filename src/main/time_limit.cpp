// The clock of `--time-limit`: a thread that sleeps, since a signal would break into the writing of files.
#include "main/time_limit.h"

#include <chrono>
#include <string>
#include <thread>

#include "model/time_limit.h"
#include "units/parse.h"

namespace loomproof {
namespace {

constexpr double longest_s = 1e6;

std::string start_clock(const std::string& text) {
  const auto parsed = parse_magnitude(text, Dimension::time);
  if (!parsed) return parsed.error;
  const double seconds = parsed.value->value;
  if (!(seconds > 0) || seconds > longest_s) return "a time limit lies above 0 s and is at most 1000000 s";
  std::thread([seconds] {
    std::this_thread::sleep_for(std::chrono::duration<double>(seconds));
    end_time();
  }).detach();
  return {};
}

}  // namespace

void add_time_limit(CLI::App& command) {
  command.add_option("--time-limit", "End without an answer after so long, exit code 4: `10 s`, `2 min`")
      ->type_name("TIME")
      ->check(CLI::Validator(start_clock, ""));
}

}  // namespace loomproof
