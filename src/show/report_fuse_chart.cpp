// Time-current chart of every fuse: its band against the damage curves of the wires that it protects.
#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include <fmt/format.h>

#include "rules/subject.h"
#include "show/fuse_use.h"
#include "show/report_escape.h"
#include "show/report_sections.h"
#include "solve/fault_endurance.h"
#include "solve/fuse_band.h"
#include "solve/insulation.h"
#include "units/print.h"

namespace loomproof::report {
namespace {

constexpr double soonest_s = 0.001, latest_s = 1e5;

// Wires of one build in one surrounding, of whose fault the fuse sees the same, have one curve.
struct Curve {
  WireEndurance endurance;
  double around_c = 0;
  double share = 1;  // the fuse sees share * (current of the wire - beside)
  double beside_a = 0;
  std::string insulation;
  std::vector<std::size_t> wires;
};

std::vector<Curve> curves_behind(const Story& story, std::size_t fuse) {
  std::map<std::tuple<double, std::string, double, double, double>, Curve> found;
  for (std::size_t w = 0; w < story.loom.wires.size(); ++w) {
    const Wire& wire = story.loom.wires[w];
    if (story.solved.protection.wires[w].fuse != fuse || !wire.size) continue;
    const std::string insulation = wire.insulation ? wire.insulation->value : std::string(assumed_insulation);
    const double around_c = std::ceil(story.solved.heat[w].around.value);
    const auto endurance = fault_endurance(wire.size->value, insulation, Celsius(around_c));
    if (!endurance) continue;
    const WireProtection& p = story.solved.protection.wires[w];
    const double share = std::round(p.seen_share * 100) / 100;
    const auto [at, fresh] = found.try_emplace({wire.size->value.value, insulation, around_c, share, p.beside.value},
                                               Curve{*endurance, around_c, share, p.beside.value, insulation, {}});
    at->second.wires.push_back(w);
  }
  std::vector<Curve> curves;
  for (auto& [key, curve] : found) curves.push_back(std::move(curve));
  return curves;
}

double finite(Second time) {
  return std::clamp(std::isnan(time.value) ? 0 : time.value, soonest_s / 100, latest_s * 100);
}

chart::Band band_of(const OpenerCurve& curve, double low_a, double high_a, const std::string& name) {
  std::vector<double> currents;
  constexpr int samples = 160;
  for (int i = 0; i <= samples; ++i)
    currents.push_back(low_a * std::pow(high_a / low_a, static_cast<double>(i) / samples));
  // Both sides of every point, for its steps to stand upright.
  for (const auto* edge : {&curve.fastest, &curve.slowest}) {
    for (const EdgePoint& p : *edge) {
      for (const double side : {1 - 1e-7, 1 + 1e-7}) currents.push_back(p.multiple * curve.rated.value * side);
    }
  }
  std::erase_if(currents, [&](double a) { return a < low_a || a > high_a; });
  std::sort(currents.begin(), currents.end());
  chart::Band band{{}, {}, name};
  for (const double a : currents) {
    band.lower.push_back({a, finite(fastest(curve, Ampere(a)))});
    band.upper.push_back({a, finite(slowest(curve, Ampere(a)))});
  }
  return band;
}

chart::Line line_of(const Story& story, const Curve& curve, double high_a, int look) {
  chart::Line line;
  line.look = look;
  line.letter = std::string(1, static_cast<char>('a' + look));
  const double harmless_a = harmless_current(curve.endurance).value;
  // Up to here it is carried for ever: the line comes down from above the chart.
  const auto seen_a = [&](double a) { return curve.share * (a - curve.beside_a); };
  line.points.push_back({seen_a(harmless_a), latest_s * 100});
  const DamageTimes until_damage(curve.endurance);
  constexpr int samples = 90;
  const double most_a = high_a / std::max(curve.share, 1e-3) + curve.beside_a;
  const double first = std::log(1e-3), last = std::log(std::max(most_a / std::max(harmless_a, 1e-6) - 1, 2e-3));
  for (int i = 0; i <= samples; ++i) {
    const double a = harmless_a * (1 + std::exp(first + (last - first) * i / samples));
    line.points.push_back({seen_a(a), finite(until_damage(Ampere(a)))});
  }
  const Wire& wire = story.loom.wires[curve.wires.front()];
  std::string names;
  constexpr std::size_t most = 12;
  for (std::size_t i = 0; i < std::min(most, curve.wires.size()); ++i) {
    names += (names.empty() ? "" : ", ") + story.loom.wires[curve.wires[i]].name;
  }
  if (curve.wires.size() > most) names += fmt::format(" and {} more", curve.wires.size() - most);
  line.name = fmt::format("damage to {} {} in {}: {}", show(wire.size->value), curve.insulation,
                          show(Celsius(curve.around_c)), names);
  if (curve.share < 1) line.name += fmt::format(" (of the fault {:.0f} % pass the fuse)", curve.share * 100);
  if (curve.beside_a > 0) line.name += fmt::format(" ({} of the fault do not pass it)", show(Ampere(curve.beside_a)));
  return line;
}

// A part with several fuses (taps of a pack) needs their own names too.
std::string title_of(const Story& story, const Fuse& fuse) {
  const auto& all = story.loom.elements.fuses;
  const auto of_part = std::count_if(all.begin(), all.end(), [&](const Fuse& f) { return f.part == fuse.part; });
  return subject_of(story.loom, fuse, of_part > 1).name;
}

std::string words(const Story& story, const Fuse& fuse, const std::vector<Curve>& curves) {
  const WireProtection* worst = nullptr;
  std::size_t worst_wire = 0;
  for (const Curve& curve : curves) {
    for (const std::size_t w : curve.wires) {
      const WireProtection& p = story.solved.protection.wires[w];
      if (worst != nullptr && p.coordination.ratio <= worst->coordination.ratio) continue;
      worst = &p;
      worst_wire = w;
    }
  }
  if (worst == nullptr) return "<p>No wire depends on it alone.</p>";
  const Coordination& c = worst->coordination;
  const std::string link = wire_link(story, WireIndex{worst_wire});
  if (std::isinf(c.opens_after.value) && !std::isinf(c.damage_after.value)) {
    return fmt::format(
        "<p>Closest: {} is damaged by a resistive fault of {} after {}, and the fuse need not open at all.</p>", link,
        show(c.worst), show(c.damage_after));
  }
  if (c.ratio == 0) return fmt::format("<p>No current that can flow damages {}.</p>", link);
  // Below a millisecond the curves are drawn on: a figure there would say more than is known.
  constexpr double least_s = 0.001;
  if (c.damage_after.value < least_s || c.opens_after.value < least_s) {
    return fmt::format("<p>Closest: at {} {} opens in {:.0f} % of the time after which {} is damaged.</p>",
                       show(c.worst), html(title_of(story, fuse)), std::ceil(c.ratio * 100), link);
  }
  return fmt::format("<p>Closest: at {} {} is damaged after {} and {} opens after {} at the latest.</p>", show(c.worst),
                     link, show(c.damage_after), html(title_of(story, fuse)), show(c.opens_after));
}

std::string chart_of(const Story& story, std::size_t f) {
  const Fuse& fuse = story.loom.elements.fuses[f];
  const std::string name = title_of(story, fuse);
  const auto curve = curve_of(story.loom, fuse);
  if (!curve) return fmt::format("<p>{}: no chart, its rating or its curve is not given.</p>", html(name));
  const std::vector<Curve> curves = curves_behind(story, f);
  const FuseFault& fault = story.solved.fuse_faults[f];
  const FuseUse use = most_in_use(story.solved, f);
  const double most_a = use.most.value;
  const double rated_a = curve->rated.value;
  double low_a = rated_a / 2, high_a = std::max(fault.largest_a, rated_a * 10);
  if (most_a > rated_a / 20) low_a = std::min(low_a, most_a * 0.8);
  chart::Chart chart;
  chart.title = fmt::format("Time to open of {} and time to damage of its wires, against current", name);
  chart.x = chart::rounded({"current through the fuse, A", low_a, high_a, true});
  chart.y = {"time, s", soonest_s, latest_s, true};
  const std::string rating = fmt::format("{} A", chart::tick_text(rated_a, rated_a < 10 ? 0.1 : 1));
  chart.bands.push_back(band_of(*curve, chart.x.low, chart.x.high,
                                fmt::format("{} ({}, {}) opens in here", name, rating,
                                            fuse.curve.empty() ? std::string("your curve") : fuse.curve)));
  int look = 0;
  for (const Curve& each : curves) {
    if (look < 26) chart.lines.push_back(line_of(story, each, chart.x.high, look));
    ++look;
  }
  if (most_a > chart.x.low)
    chart.marks.push_back({most_a, true, 5, (use.precharge ? "precharge begins " : "duty ") + show(use.most)});
  if (fault.largest_a > chart.x.low)
    chart.marks.push_back({fault.largest_a, true, 4, "largest short " + show(Ampere(fault.largest_a))});
  std::string says = words(story, fuse, curves);
  if (fault.untold || fault.battery)
    says += "<p>What a source behind it gives into a short is not given, so the largest short may be another.</p>";
  if (curves.size() > 26) says += fmt::format("<p>{} more curves are not drawn.</p>", curves.size() - 26);
  return figure(fmt::format("{}, {}", name, rating), chart, says);
}

}  // namespace

std::string figure(std::string_view heading, const chart::Chart& chart, std::string_view words_html) {
  return fmt::format("<figure><h3>{}</h3>{}<figcaption>{}{}</figcaption></figure>\n", html(heading),
                     chart::svg_of(chart), words_html, chart::key_of(chart));
}

std::string fuse_charts(const Story& story) {
  if (story.loom.elements.fuses.empty()) return "<p>There is no fuse.</p>";
  std::string out =
      "<p>Left to right: more current. Bottom to top: more time. A fuse protects a wire where its whole band lies "
      "below "
      "the wire's line. The dangerous stretch is the left one: a fault of little current, just below what opens the "
      "fuse.</p><div class=\"charts\">";
  for (std::size_t f = 0; f < story.loom.elements.fuses.size(); ++f) out += chart_of(story, f);
  return out + "</div>";
}

}  // namespace loomproof::report
