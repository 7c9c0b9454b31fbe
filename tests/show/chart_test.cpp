// Axes that a person would draw, and charts that stay inside their frame.
#include "show/chart.h"

#include <cmath>
#include <random>
#include <regex>
#include <string>
#include <vector>

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

TEST_CASE("every line has its letter, also one that hugs an edge, and no letter lies on another") {
  Chart chart;
  chart.x = {"time", 0, 200, false};
  chart.y = {"temperature", 40, 180, false};
  chart.lines.push_back({{{0, 75}, {200, 80}}, 0, "a", "a"});
  chart.lines.push_back({{{0, 43}, {200, 43}}, 1, "b", "b"});  // within 3 % of the lower edge
  chart.lines.push_back({{{0, 75}, {200, 80}}, 2, "c", "c"});
  chart.lines.push_back({{{90, 40}, {90, 180}}, 3, "d", "d"});
  chart.lines.push_back({{{91, 40}, {91, 180}}, 4, "e", "e"});
  const std::string svg = svg_of(chart);
  std::vector<Point> discs;
  const std::regex disc("<circle class=\"letter k[0-9]\" cx=\"([0-9.]+)\" cy=\"([0-9.]+)\" r=\"8\"/>");
  for (std::sregex_iterator at(svg.begin(), svg.end(), disc), end; at != end; ++at) {
    discs.push_back({std::stod((*at)[1]), std::stod((*at)[2])});
  }
  REQUIRE(discs.size() == chart.lines.size());
  for (std::size_t i = 0; i < discs.size(); ++i) {
    for (std::size_t k = 0; k < i; ++k) CHECK(std::hypot(discs[i].x - discs[k].x, discs[i].y - discs[k].y) > 16);
  }
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
