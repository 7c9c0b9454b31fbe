// Temperature of the hottest wires over each ride, with what their insulation allows.
#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "show/report_escape.h"
#include "show/report_sections.h"
#include "solve/ride_trace.h"
#include "units/print.h"

namespace loomproof::report {
namespace {

constexpr std::size_t most_lines = 5;

// Share of the allowed rise that is used up; what melts comes first.
double used_of(const WireHeat& heat) {
  if (heat.state == WireHeat::State::melts) return 1e9;
  const double allowed = heat.limit.value - heat.around.value;
  return allowed > 0 ? (heat.peak.value - heat.around.value) / allowed : 1e9;
}

struct Trace {
  std::size_t wire;
  std::vector<HeatSample> samples;
  Celsius peak;
};

// The wires with the least to spare in this ride; of wires that run alike only the first.
std::vector<Trace> hottest_in(const Story& story, const HeatCase& ride) {
  std::vector<std::size_t> order;
  for (std::size_t w = 0; w < story.loom.wires.size(); ++w) {
    const WireHeat& heat = story.solved.heat[w];
    const bool carries =
        std::any_of(ride.steps.begin(), ride.steps.end(), [&](const HeatStepCase& s) { return s.wire_a[w] > 0; });
    if (heat.state != WireHeat::State::no_size && carries) order.push_back(w);
  }
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return used_of(story.solved.heat[a]) > used_of(story.solved.heat[b]);
  });
  std::vector<Trace> traces;
  for (const std::size_t w : order) {
    if (traces.size() >= most_lines) break;
    const WireHeat& heat = story.solved.heat[w];
    Trace trace{
        w, ride_trace(story.loom, story.solved.circuit, story.solved.points, ride, WireIndex{w}, heat.bundle), {}};
    if (trace.samples.empty()) continue;
    trace.peak = std::max_element(trace.samples.begin(), trace.samples.end(), [](const auto& a, const auto& b) {
                   return a.conductor < b.conductor;
                 })->conductor;
    // Lines that lie on one another, and those of wires that hardly warm, say nothing more.
    const bool known = std::any_of(traces.begin(), traces.end(), [&](const Trace& other) {
      return std::fabs((other.peak - trace.peak).value) < 1 && story.solved.heat[other.wire].limit == heat.limit;
    });
    constexpr double hardly_k = 3;
    if (!traces.empty() && (trace.peak - air_beside(story.loom, story.loom.wires[w])).value < hardly_k) continue;
    if (!known) traces.push_back(std::move(trace));
  }
  return traces;
}

std::string chart_of(const Story& story, const HeatCase& ride) {
  const std::vector<Trace> traces = hottest_in(story, ride);
  if (traces.empty()) return fmt::format("<p>Ride {}: no wire has a temperature to draw.</p>", html(ride.name));
  double whole_s = 0;
  for (const HeatStepCase& step : ride.steps) whole_s += step.lasts->value;
  const bool in_minutes = whole_s > 300;
  const double unit_s = in_minutes ? 60 : 1;
  double low_c = traces.front().samples.front().conductor.value, high_c = low_c;
  std::map<double, std::string> limits;
  chart::Chart chart;
  chart.title = fmt::format("Temperature of the hottest wires over the ride {}", ride.name);
  std::string words;
  for (std::size_t i = 0; i < traces.size(); ++i) {
    const Trace& trace = traces[i];
    const Wire& wire = story.loom.wires[trace.wire];
    const WireHeat& heat = story.solved.heat[trace.wire];
    chart::Line line{{}, static_cast<int>(i), std::string(1, static_cast<char>('a' + i)), {}};
    for (const HeatSample& s : trace.samples) {
      line.points.push_back({s.moment.value / unit_s, s.conductor.value});
      low_c = std::min(low_c, s.conductor.value);
      high_c = std::max(high_c, s.conductor.value);
    }
    line.name = fmt::format("{}: up to {} of {}{}", wire.name, show(trace.peak), show(heat.limit),
                            heat.bundle ? ", in bundle " + story.loom.bundles[heat.bundle->value].name : "");
    chart.lines.push_back(std::move(line));
    std::string& names = limits[heat.limit.value];
    names += (names.empty() ? "" : ", ") + std::string(1, static_cast<char>('a' + i));
    high_c = std::max(high_c, heat.limit.value);
  }
  chart.x = {in_minutes ? "time, min" : "time, s", 0, whole_s / unit_s, false};
  chart.y = chart::rounded({"temperature, degC", low_c, high_c, false});
  for (const auto& [limit_c, letters] : limits)
    chart.marks.push_back({limit_c, false, 4, fmt::format("limit of {}: {}", letters, show(Celsius(limit_c)))});
  double at_s = 0;
  for (const HeatStepCase& step : ride.steps) {
    if (at_s > 0) chart.marks.push_back({at_s / unit_s, true, 5, {}});
    words += fmt::format("{}{} for {}", words.empty() ? "" : ", ", html(step.when), show(*step.lasts));
    at_s += step.lasts->value;
  }
  return figure(
      fmt::format("Over '{}'", ride.name), chart,
      fmt::format("<p>Repeated for ever: {}. Upright marks part the steps. The temperature is the judged one: "
                  "every current counts 11 % higher than computed.</p>",
                  words));
}

}  // namespace

std::string heat_charts(const Story& story) {
  std::string out;
  for (const HeatCase& each : heat_cases(story.loom, story.solved.circuit, story.solved.points)) {
    if (each.steps.size() > 1) out += chart_of(story, each);
  }
  if (out.empty())
    return "<p>The file has no ride of several duty points with their times, so every wire was judged as if its "
           "current "
           "held for ever; there is no temperature over time to draw. The table of wires has the temperatures.</p>";
  return "<div class=\"charts\">" + out + "</div>";
}

}  // namespace loomproof::report
