// Ticks that a person would choose: 1, 2, 5 and their decades.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "show/chart.h"

namespace loomproof::chart {
namespace {

constexpr double slack = 1e-9;  // of a step or a decade: a bound that is a tick stays one

double step_for(double span) {
  const double rough = span / 7.5;  // 3 steps at the least and 7.5 at the most, since the widest leap is 2 to 5
  const double decade = std::pow(10, std::floor(std::log10(rough)));
  for (const double nice : {1.0, 2.0, 5.0}) {
    if (nice * decade >= rough * (1 - slack)) return nice * decade;
  }
  return 10 * decade;
}

std::vector<Tick> log_ticks(const Axis& axis) {
  const int first = static_cast<int>(std::floor(std::log10(axis.low) + slack));
  const int last = static_cast<int>(std::ceil(std::log10(axis.high) - slack));
  const bool few = std::log10(axis.high / axis.low) < 3;
  std::vector<Tick> ticks;
  for (int decade = first; decade <= last; ++decade) {
    for (const int digit : {1, 2, 5}) {
      const double at = digit * std::pow(10, decade);
      if (at < axis.low * (1 - slack) || at > axis.high * (1 + slack)) continue;
      ticks.push_back({at, digit == 1 || few ? tick_text(at, at) : std::string()});
    }
  }
  return ticks;
}

}  // namespace

std::string tick_text(double value, double step) {
  const int digits = std::max(0, static_cast<int>(-std::floor(std::log10(step) + slack)));
  const std::string text = fmt::format("{:.{}f}", value, digits);
  return text.find_first_not_of("-0.") == std::string::npos ? "0" : text;
}

std::vector<Tick> ticks_of(const Axis& axis) {
  if (axis.log) return log_ticks(axis);
  const double step = step_for(axis.high - axis.low);
  std::vector<Tick> ticks;
  const auto first = static_cast<long>(std::ceil(axis.low / step - slack));
  const auto last = static_cast<long>(std::floor(axis.high / step + slack));
  for (long i = first; i <= last; ++i) {
    const double at = static_cast<double>(i) * step;
    ticks.push_back({at, tick_text(at, step)});
  }
  return ticks;
}

Axis rounded(Axis axis) {
  if (axis.log) {
    const auto widen = [](double value, bool up) {
      const double decade = std::pow(10, std::floor(std::log10(value) + slack));
      double best = up ? 10 * decade : decade;
      for (const double nice : {1.0, 2.0, 5.0}) {
        const double at = nice * decade;
        if (up && at >= value * (1 - slack)) best = std::min(best, at);
        if (!up && at <= value * (1 + slack)) best = std::max(best, at);
      }
      return best;
    };
    axis.low = widen(axis.low, false);
    axis.high = widen(axis.high, true);
    return axis;
  }
  if (!(axis.high > axis.low)) axis.high = axis.low + 1;
  const double step = step_for(axis.high - axis.low);
  axis.low = std::floor(axis.low / step + slack) * step;
  axis.high = std::ceil(axis.high / step - slack) * step;
  return axis;
}

}  // namespace loomproof::chart
