// Holds openers against wires, against each other and against a duty.
#include "solve/protect.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "solve/infinite.h"

namespace loomproof {
namespace {

double ratio_at(const OpenerCurve& opener, const DamageCurve& wire, double current_a) {
  const double damage_s = time_to_damage(wire, Ampere(current_a)).value;
  if (std::isinf(damage_s)) return 0;
  const double opening_s = slowest(opener, Ampere(current_a)).value;
  if (std::isinf(opening_s) || damage_s <= 0) return infinite;
  return opening_s / damage_s;
}

// Where ln(ratio) = a + b ln I - d ln(I - I0) is stationary between two neighbouring breakpoints, if it is.
std::optional<double> stationary(const OpenerCurve& opener, const DamageCurve& wire, double low_a, double high_a) {
  if (wire.asymptote_a <= 0 || high_a / low_a < 1 + 1e-9) return std::nullopt;
  const double one_a = low_a * std::pow(high_a / low_a, 1.0 / 3), two_a = low_a * std::pow(high_a / low_a, 2.0 / 3);
  const double b = std::log(slowest(opener, Ampere(two_a)) / slowest(opener, Ampere(one_a))) / std::log(two_a / one_a);
  const double d = std::log(time_to_damage(wire, Ampere(two_a)) / time_to_damage(wire, Ampere(one_a))) /
                   (wire.u_of(two_a) - wire.u_of(one_a));
  const double at_a = b * wire.asymptote_a / (b - d);
  if (!(at_a > low_a && at_a < high_a)) return std::nullopt;
  return at_a;
}

// Currents at which either curve bends, from `low_a` to `high_a`, both included.
std::vector<double> breakpoints(const OpenerCurve& opener, const DamageCurve& wire, double low_a, double high_a) {
  std::vector<double> found{low_a, high_a};
  const auto add = [&](double current_a) {
    if (current_a > low_a && current_a < high_a) found.push_back(current_a);
  };
  for (const EdgePoint& p : opener.slowest) add(p.multiple * opener.rated.value);
  for (const DamageCurve::Sample& sample : wire.samples) add(wire.current_of(sample.u));
  add(wire.max_a);
  std::sort(found.begin(), found.end());
  return found;
}

}  // namespace

Coordination coordinate(const OpenerCurve& opener, const DamageCurve& wire, Ampere smallest_fault,
                        Ampere largest_fault) {
  Coordination found;
  found.smallest_opens_after = slowest(opener, smallest_fault);
  found.smallest_damage_after = time_to_damage(wire, smallest_fault);
  found.smallest_opens = std::isfinite(found.smallest_opens_after.value);
  found.smallest_in_time = found.smallest_opens && found.smallest_opens_after <= found.smallest_damage_after;

  const auto keep = [&](double current_a, double ratio) {
    found.ratio = ratio;
    found.worst = Ampere(current_a);
    found.opens_after = slowest(opener, found.worst);
    found.damage_after = time_to_damage(wire, found.worst);
  };
  keep(largest_fault.value, ratio_at(opener, wire, largest_fault.value));
  const bool harmless = wire.samples.empty() && largest_fault.value <= wire.max_a;
  if (largest_fault.value <= wire.asymptote_a || harmless) return found;

  const double opens_a = surely_opens(opener).value_or(Ampere(infinite)).value;
  if (wire.asymptote_a < std::min(opens_a, largest_fault.value) * (1 - 1e-12) && wire.asymptote_a < opens_a) {
    // Some current harms the wire and need not open the fuse: the fire case. The harm is soonest at its upper end.
    const double at_a = std::min(opens_a, largest_fault.value);
    if (std::isfinite(time_to_damage(wire, Ampere(at_a)).value)) {
      keep(at_a, infinite);
      found.opens_after = Second(infinite);
      return found;
    }
  }
  // Just above the asymptote the damage time is that of the first sample, so the span is closed there.
  const double low_a = std::max(opens_a, wire.asymptote_a * (1 + 1e-12));
  if (!(low_a < largest_fault.value)) return found;
  const std::vector<double> bends = breakpoints(opener, wire, low_a, largest_fault.value);
  const auto consider = [&](double current_a) {
    const double ratio = ratio_at(opener, wire, current_a);
    if (ratio > found.ratio) keep(current_a, ratio);
  };
  for (std::size_t i = 0; i < bends.size(); ++i) {
    consider(bends[i]);
    if (i + 1 == bends.size()) break;
    if (const auto at_a = stationary(opener, wire, bends[i], bends[i + 1])) consider(*at_a);
  }
  return found;
}

Selectivity selectivity(const OpenerCurve& downstream, const OpenerCurve& upstream, Ampere largest_fault) {
  // Both edges are straight in log-log between points, so the largest quotient lies at a point of either, on one of the
  // two sides of a step, or at the largest current.
  std::vector<double> currents_a{largest_fault.value};
  const auto add = [&](double current_a) {
    for (const double side : {1 - 1e-9, 1.0, 1 + 1e-9})
      if (current_a * side < largest_fault.value) currents_a.push_back(current_a * side);
  };
  for (const EdgePoint& p : downstream.slowest) add(p.multiple * downstream.rated.value);
  for (const EdgePoint& p : upstream.fastest) add(p.multiple * upstream.rated.value);
  add(upstream.carries_multiple * upstream.rated.value);

  Selectivity found{0, largest_fault, slowest(downstream, largest_fault), fastest(upstream, largest_fault)};
  for (const double current_a : currents_a) {
    const Second down = slowest(downstream, Ampere(current_a)), up = fastest(upstream, Ampere(current_a));
    if (std::isinf(up.value)) continue;
    const double ratio = std::isinf(down.value) || up.value <= 0 ? infinite : down / up;
    if (ratio > found.ratio) found = {ratio, Ampere(current_a), down, up};
  }
  return found;
}

bool selective_by_standard(OpenerKind downstream, Ampere downstream_rated, OpenerKind upstream, Ampere upstream_rated) {
  // Standard ratings are rounded: 63/40 = 1.575, 100/63 = 1.587, 25/16 = 1.5625 are all steps of "1.6".
  constexpr double rounded_ratio = 1.56;
  const bool both_gg = downstream == OpenerKind::cartridge_gg && upstream == OpenerKind::cartridge_gg;
  return both_gg && downstream_rated.value >= 16 && upstream_rated / downstream_rated >= rounded_ratio;
}

DutyLoad duty_load(const OpenerCurve& opener, const std::vector<DutyStretch>& duty) {
  DutyLoad load;
  double square_a2s = 0, whole_s = 0, pulses_a2s = 0;
  for (const DutyStretch& stretch : duty) {
    const double current_a = std::fabs(stretch.current.value), lasts_s = std::max(0.0, stretch.lasts.value);
    const double let_through_a2s = current_a * current_a * lasts_s;
    square_a2s += let_through_a2s;
    whole_s += lasts_s;
    if (lasts_s >= sustained.value)
      load.sustained_share = std::max(load.sustained_share, current_a / opener.rated.value);
    if (current_a <= opener.rated.value || lasts_s <= 0) continue;
    load.opening_share += lasts_s / fastest(opener, Ampere(current_a)).value;
    if (lasts_s < adiabatic_pulse.value) pulses_a2s += let_through_a2s;
  }
  if (whole_s > 0) load.rms_a = std::sqrt(square_a2s / whole_s);
  load.rms_share = load.rms_a / opener.rated.value;
  if (const auto melting_a2s = melting_let_through(opener).least_a2s) load.pulse_share = pulses_a2s / *melting_a2s;
  return load;
}

double pulse_share_allowed(double pulses) {
  constexpr std::array<std::array<double, 2>, 4> points{{{1e2, 0.48}, {1e3, 0.38}, {1e4, 0.29}, {1e5, 0.22}}};
  constexpr double million_share = 0.15;
  if (!(pulses > points.front()[0])) return points.front()[1];
  if (!(pulses < 1e6)) return million_share;
  for (std::size_t i = 1; i < points.size(); ++i)
    if (pulses <= points[i][0]) return std::lerp(points[i - 1][1], points[i][1], std::log10(pulses / points[i - 1][0]));
  return std::lerp(points.back()[1], million_share, std::log10(pulses / points.back()[0]));
}

}  // namespace loomproof
