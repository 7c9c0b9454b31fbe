// Axes that a person would draw, and charts that stay inside their frame.
#include "show/chart.h"

#include <cmath>
#include <random>

#include <doctest/doctest.h>

using namespace loomproof::chart;

TEST_CASE("linear ticks are 1, 2 or 5 times a power of ten, three to eight of them") {
  std::mt19937 random(3);
  std::uniform_real_distribution<double> exponent(-4, 5), start(-1, 1);
  for (int i = 0; i < 2000; ++i) {
    const double span = std::pow(10, exponent(random));
    const double low = start(random) * span;
    const std::vector<Tick> ticks = ticks_of({"", low, low + span, false});
    CAPTURE(low);
    CAPTURE(span);
    CHECK(ticks.size() >= 3);
    CHECK(ticks.size() <= 8);
    const double step = ticks[1].at - ticks[0].at;
    const double digit = step / std::pow(10, std::floor(std::log10(step) + 1e-6));
    CHECK((std::fabs(digit - 1) < 1e-6 || std::fabs(digit - 2) < 1e-6 || std::fabs(digit - 5) < 1e-6));
    for (const Tick& tick : ticks) {
      CHECK(tick.at >= low - 1e-9 * span);
      CHECK(tick.at <= low + span * (1 + 1e-9));
      CHECK(std::fabs(std::stod(tick.text) - tick.at) < 1e-6 * span);  // the text says the place
    }
  }
}

TEST_CASE("log ticks: every decade has its text") {
  const std::vector<Tick> ticks = ticks_of({"", 0.001, 1e5, true});
  std::string texts;
  for (const Tick& tick : ticks) texts += tick.text.empty() ? "" : tick.text + " ";
  CHECK(texts == "0.001 0.01 0.1 1 10 100 1000 10000 100000 ");
  CHECK(ticks.size() == 8 * 3 + 1);
}

TEST_CASE("a rounded axis holds what it held and ends on ticks") {
  const Axis linear = rounded({"", 41.3, 178.2, false});
  CHECK(linear.low == doctest::Approx(40));
  CHECK(linear.high == doctest::Approx(180));
  const Axis log = rounded({"", 7.2, 4300, true});
  CHECK(log.low == doctest::Approx(5));
  CHECK(log.high == doctest::Approx(5000));
}

TEST_CASE("names in a chart are escaped, and infinities do not get out") {
  Chart chart;
  chart.title = "<b>\"x\"";
  chart.x = {"current", 1, 1000, true};
  chart.y = {"time", 0.001, 1000, true};
  chart.lines.push_back({{{0, 1}, {10, INFINITY}, {100, 1e-30}, {1e9, 1}}, 0, "a", "</svg><script>"});
  chart.marks.push_back({20, true, 0, "<i>"});
  const std::string svg = svg_of(chart) + key_of(chart);
  for (const char* bad : {"<b>\"", "<i>", "<script", "inf", "nan"}) CHECK(svg.find(bad) == std::string::npos);
}
