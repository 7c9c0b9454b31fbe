// Voltage and current of every precharge over time, as the whole loom charges its bus.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "show/report_escape.h"
#include "show/report_sections.h"
#include "solve/charging.h"
#include "units/print.h"

namespace loomproof::report {
namespace {

// When the curve has told its story: the contact has closed, or the bus has come as far as it comes.
double story_s(const PrechargeRun& run, double constant_s) {
  if (run.closes_s) return 1.25 * std::max(*run.closes_s, constant_s / 10);
  constexpr double near_share = 0.01;
  double until_s = constant_s;
  for (int i = 0; i < 20 && std::fabs(bus_voltage(run, until_s) - run.settles_v) > near_share * run.source_v; ++i)
    until_s *= 1.5;
  return 1.2 * until_s;
}

// Within a stretch every current is straight in the bus voltage.
double amps_at(const PrechargeRun& run, double time_s, bool resistor) {
  for (const ChargingStretch& s : run.stretches) {
    if (time_s > s.from_s + s.lasts_s) continue;
    const double span_v = s.to_v - s.from_v;
    const double part = span_v == 0 ? 0 : (bus_voltage(run, time_s) - s.from_v) / span_v;
    if (!resistor) return s.from_a + part * (s.to_a - s.from_a);
    double most_a = 0;
    for (std::size_t k = 0; k < s.from_resistor_a.size(); ++k)
      most_a = std::max(most_a, std::fabs(s.from_resistor_a[k] + part * (s.to_resistor_a[k] - s.from_resistor_a[k])));
    return most_a;
  }
  return 0;
}

std::string ending(const PrechargeRun& run, std::string_view contact) {
  if (run.closes_s)
    return fmt::format("; {} closes after {}, at {} of {} (dashed)", html(contact), show(Second(*run.closes_s)),
                       show(Volt(run.closes_v)), show(Volt(run.source_v)));
  if (run.unknown_gate) return fmt::format("; when {} closes is not given", html(contact));
  return fmt::format("; {} never closes, and the bus stays at {} of {}", html(contact), show(Volt(run.settles_v)),
                     show(Volt(run.source_v)));
}

std::string charts_of(const Story& story, const Charging& charging) {
  const Closing& closing = charging.closing;
  const Solved& solved = story.solved;
  const std::string& name = story.loom.part(story.loom.elements.contacts[closing.contact].part).name;
  const std::string& bank = story.loom.part(story.loom.elements.capacitances[closing.capacitance].part).name;
  if (charging.runs.empty()) return fmt::format("<p>{}: no situation in which it is precharged.</p>", html(name));
  const Situation& situation = charging.situations.back();
  const PrechargeRun& run = charging.runs.back();
  if (!run.farad_known)
    return fmt::format("<p>{}: the capacitance of {} is not given, so nothing can be drawn.</p>", html(name),
                       html(bank));
  if (!run.trouble.empty() || run.stretches.empty())
    return fmt::format("<p>{}: its charging did not come to an end{}{}.</p>", html(name),
                       run.trouble.empty() ? "" : ": ", html(run.trouble));
  const double constant_s = (*closing.precharge_ohm + closing.loop_ohm) * run.farad;
  const double until_s = story_s(run, constant_s), unit_s = until_s < 1 ? 1e-3 : 1;
  constexpr int steps = 200;
  chart::Line volts{{}, 0, "", ""}, into{{}, 1, "c", "into the capacitances"},
      through{{}, 2, "r", "through the resistor"};
  const double last_s = run.closes_s.value_or(until_s);
  double peak_a = 0;
  for (int i = 0; i <= steps; ++i) {
    // The first moments are the steep ones.
    const double share = static_cast<double>(i) / steps, time_s = last_s * share * share;
    volts.points.push_back({time_s / unit_s, bus_voltage(run, time_s)});
    into.points.push_back({time_s / unit_s, amps_at(run, time_s, false)});
    through.points.push_back({time_s / unit_s, amps_at(run, time_s, true)});
    peak_a = std::max({peak_a, into.points.back().y, through.points.back().y});
  }
  if (run.closes_s) {
    volts.points.push_back({last_s / unit_s, run.source_v});
    volts.points.push_back({until_s / unit_s, run.source_v});
  }
  chart::Chart voltage;
  voltage.title = fmt::format("Voltage of {} while it is precharged around {}", bank, name);
  voltage.x = {until_s < 1 ? "time, ms" : "time, s", 0, until_s / unit_s, false};
  voltage.y = chart::rounded({"bus voltage, V", 0, run.source_v, false});
  voltage.lines = {std::move(volts)};
  voltage.marks.push_back(
      {run.source_v, false, 4, run.closes_s ? std::string() : "source " + show(Volt(run.source_v))});
  if (run.closes_s)
    voltage.marks.push_back({*run.closes_s / unit_s, true, 5, "closes at " + show(Second(*run.closes_s))});
  std::string words =
      fmt::format("<p>{} on the bus charge through {}", show(Farad(run.farad)), show(Ohm(*closing.precharge_ohm)));
  if (run.to_fraction_s) {
    words += fmt::format("; 95 % are there after {}", show(Second(*run.to_fraction_s)));
  } else {
    words += fmt::format("; it comes to {} and never to 95 %", show(Volt(run.settles_v)));
  }
  words += ending(run, name) + fmt::format(". In: {}.</p>", html(solved.describe(situation)));
  chart::Chart current;
  current.title = fmt::format("Current of the precharge around {}", name);
  current.x = voltage.x;
  current.y = chart::rounded({"current, A", 0, peak_a, false});
  current.lines = {std::move(into), std::move(through)};
  return figure(fmt::format("Voltage before {} closes", name), voltage, words) +
         figure(fmt::format("Current before {} closes", name), current,
                fmt::format("<p>Peak {}. What the resistor carries beyond the capacitances' share feeds the loads that "
                            "hang on the bus already.</p>",
                            show(Ampere(peak_a))));
}

}  // namespace

std::string precharge_charts(const Story& story) {
  std::string out;
  for (const Charging& charging : story.solved.chargings) {
    if (charging.closing.precharge_ohm) out += charts_of(story, charging);
  }
  if (out.empty())
    return "<p>No single contact was found that ties a source to a capacitance with a precharge around it.</p>";
  return "<div class=\"charts\">" + out + "</div>";
}

}  // namespace loomproof::report
