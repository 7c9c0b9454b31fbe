// Voltage and current of every precharge over time.
#include <cmath>

#include <fmt/format.h>

#include "show/report_escape.h"
#include "show/report_sections.h"
#include "solve/closing.h"
#include "solve/precharge.h"
#include "units/print.h"

namespace loomproof::report {
namespace {

std::string charts_of(const Story& story, const Closing& closing) {
  const Contact& contact = story.loom.elements.contacts[closing.contact];
  const Capacitance& bank = story.loom.elements.capacitances[closing.capacitance];
  const std::string name = story.loom.part(contact.part).name;
  const std::string bank_name = story.loom.part(bank.part).name;
  if (!bank.farad)
    return fmt::format("<p>{}: the capacitance of {} is not given, so nothing can be drawn.</p>", html(name),
                       html(bank_name));
  PrechargeCircuit circuit;
  circuit.source = Volt(closing.source_v);
  circuit.source_resistance = Ohm(closing.loop_ohm);
  circuit.resistor = Ohm(*closing.precharge_ohm);
  circuit.capacitance = Farad(*bank.farad);
  const PrechargeOutcome outcome = precharge_outcome(circuit);
  const double until_s = 6 * outcome.time_constant.value;
  const double unit_s = until_s < 1 ? 1e-3 : 1;
  chart::Line volts{{}, 0, "", ""}, amps{{}, 1, "", ""};
  const double total_ohm = outcome.total.value;
  for (const BusPoint& p : precharge_transient(circuit, Second(until_s), 160)) {
    volts.points.push_back({p.time_s / unit_s, p.voltage_v});
    amps.points.push_back({p.time_s / unit_s, (closing.source_v - p.voltage_v) / total_ohm});
  }
  const chart::Axis time = {until_s < 1 ? "time, ms" : "time, s", 0, until_s / unit_s, false};
  chart::Chart voltage;
  voltage.title = fmt::format("Voltage of {} while it is precharged around {}", bank_name, name);
  voltage.x = time;
  voltage.y = chart::rounded({"bus voltage, V", 0, closing.source_v, false});
  voltage.lines = {std::move(volts)};
  voltage.marks.push_back({closing.source_v, false, 4, "source " + show(Volt(closing.source_v))});
  std::string words = fmt::format("<p>{} charges through {} (time constant {})", html(bank_name),
                                  show(Ohm(*closing.precharge_ohm)), show(outcome.time_constant));
  if (outcome.to_fraction) {
    voltage.marks.push_back({outcome.to_fraction->value / unit_s, true, 5, "95 % at " + show(*outcome.to_fraction)});
    words += fmt::format("; it reaches 95 % after {}", show(*outcome.to_fraction));
  } else {
    words += "; it never reaches 95 %";
  }
  words += ". Loads on the bus are left out here.</p>";
  chart::Chart current;
  current.title = fmt::format("Current of the precharge around {}", name);
  current.x = voltage.x;
  const double peak_a = closing.source_v / total_ohm;
  current.y = chart::rounded({"current, A", 0, peak_a, false});
  current.lines = {std::move(amps)};
  return figure(fmt::format("Voltage before {} closes", name), voltage, words) +
         figure(fmt::format("Current before {} closes", name), current,
                fmt::format("<p>Peak {}, {} in the resistor at first; {} for each charge.</p>", show(Ampere(peak_a)),
                            show(outcome.peak_resistor_power), show(resistor_energy(circuit, Second(until_s)))));
}

}  // namespace

std::string precharge_charts(const Story& story) {
  std::string out;
  for (const Closing& closing : closings(story.solved.circuit, story.solved.graph, story.solved.points)) {
    if (closing.precharge_ohm) out += charts_of(story, closing);
  }
  if (out.empty())
    return "<p>No single contact was found that ties a source to a capacitance with a precharge around it.</p>";
  return "<div class=\"charts\">" + out + "</div>";
}

}  // namespace loomproof::report
