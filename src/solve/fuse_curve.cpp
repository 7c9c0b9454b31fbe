// Evaluates time-current bands: chords in log-log, steps, and what lies outside the known points.
#include "solve/fuse_curve.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "solve/infinite.h"

namespace loomproof {
namespace {

constexpr double multiple_rounding = 1e-12;  // of a multiple: rated * m / rated need not give m back
constexpr double adiabatic_below_s = 1;      // melting of this or a shorter time is nearly free of heat loss

// t = t0 (m / m0)^slope, slope = ln(t1 / t0) / ln(m1 / m0): a straight line in log-log.
double chord(const EdgePoint& from, const EdgePoint& to, double multiple) {
  const double share = std::log(multiple / from.multiple) / std::log(to.multiple / from.multiple);
  return from.time_s * std::pow(to.time_s / from.time_s, share);
}

// Inside the points of an edge. At a step the upper end is taken for the slowest edge, the lower one for the fastest.
double inside(const std::vector<EdgePoint>& edge, double multiple, bool upper_end) {
  const auto less = [](const EdgePoint& p, double m) { return p.multiple < m; };
  const auto not_above = [](double m, const EdgePoint& p) { return m < p.multiple; };
  const auto first = std::lower_bound(edge.begin(), edge.end(), multiple, less);
  const auto past = std::upper_bound(edge.begin(), edge.end(), multiple, not_above);
  if (first != past) return upper_end ? first->time_s : (past - 1)->time_s;
  return chord(*(first - 1), *first, multiple);
}

double beyond_last(const OpenerCurve& curve, const EdgePoint& last, double multiple) {
  if (curve.beyond == Beyond::constant_time) return last.time_s;
  return last.time_s * std::pow(last.multiple / multiple, 2);
}

std::optional<std::string> edge_fault(const std::vector<EdgePoint>& edge, const std::string& name) {
  for (std::size_t i = 0; i < edge.size(); ++i) {
    const EdgePoint& p = edge[i];
    if (!std::isfinite(p.multiple) || p.multiple <= 0) return "a current of the " + name + " times is not positive";
    if (!std::isfinite(p.time_s) || p.time_s <= 0) return "a time of the " + name + " times is not positive";
    if (i == 0) continue;
    if (p.multiple < edge[i - 1].multiple) return "the currents of the " + name + " times do not ascend";
    if (p.time_s > edge[i - 1].time_s) return "the " + name + " times rise with current";
  }
  return std::nullopt;
}

}  // namespace

Second slowest(const OpenerCurve& curve, Ampere current) {
  double multiple = current / curve.rated;
  if (curve.slowest.empty() || !(multiple >= curve.slowest.front().multiple * (1 - multiple_rounding)))
    return Second(infinite);
  multiple = std::max(multiple, curve.slowest.front().multiple);
  if (multiple > curve.slowest.back().multiple) return Second(beyond_last(curve, curve.slowest.back(), multiple));
  return Second(inside(curve.slowest, multiple, true));
}

Second fastest(const OpenerCurve& curve, Ampere current) {
  const double multiple = current / curve.rated;
  const bool before_first = curve.fastest.empty() || multiple < curve.fastest.front().multiple;
  if (before_first && multiple <= curve.carries_multiple) return Second(infinite);
  if (curve.fastest.empty()) return Second(0);
  if (before_first) return Second(curve.fastest.front().time_s);
  const EdgePoint& last = curve.fastest.back();
  if (multiple <= last.multiple) return Second(inside(curve.fastest, multiple, false));
  if (curve.beyond == Beyond::constant_let_through && last.time_s > adiabatic_below_s) return Second(0);
  return Second(beyond_last(curve, last, multiple));
}

std::optional<Ampere> surely_opens(const OpenerCurve& curve) {
  if (curve.slowest.empty()) return std::nullopt;
  return curve.rated * curve.slowest.front().multiple;
}

std::optional<Ampere> surely_opens_within(const OpenerCurve& curve, Second time) {
  if (curve.slowest.empty() || !(time.value > 0)) return std::nullopt;
  if (curve.slowest.front().time_s <= time.value) return surely_opens(curve);
  const EdgePoint& last = curve.slowest.back();
  if (last.time_s > time.value) {
    if (curve.beyond == Beyond::constant_time) return std::nullopt;
    return curve.rated * (last.multiple * std::sqrt(last.time_s / time.value));
  }
  const auto to = std::find_if(curve.slowest.begin(), curve.slowest.end(),
                               [&](const EdgePoint& p) { return p.time_s <= time.value; });
  const EdgePoint& from = *(to - 1);
  const double share = std::log(time.value / from.time_s) / std::log(to->time_s / from.time_s);
  return curve.rated * (from.multiple * std::pow(to->multiple / from.multiple, share));
}

LetThrough melting_let_through(const OpenerCurve& curve) {
  if (curve.beyond == Beyond::constant_time) return {};
  const auto at_last = [&](const std::vector<EdgePoint>& edge) -> std::optional<double> {
    if (edge.empty()) return std::nullopt;
    return std::pow(edge.back().multiple * curve.rated.value, 2) * edge.back().time_s;
  };
  LetThrough found{at_last(curve.fastest), at_last(curve.slowest)};
  if (!curve.fastest.empty() && curve.fastest.back().time_s > adiabatic_below_s) found.least_a2s.reset();
  return found;
}

OpenerCurve at_ambient(const OpenerCurve& curve, Celsius ambient) {
  const double factor = 1 - curve.derating_per_k * (ambient - curve.reference).value;
  OpenerCurve changed = curve;
  changed.rated = curve.rated * std::clamp(factor, 0.5, 1.2);
  return changed;
}

OpenerCurve generic_curve(OpenerKind kind, Ampere rated) {
  const bool breaker = kind == OpenerKind::breaker_b || kind == OpenerKind::breaker_c || kind == OpenerKind::breaker_d;
  OpenerCurve curve;
  curve.rated = rated;
  for (const Gate& gate : published_gates(kind, rated)) {
    if (gate.min_s) curve.fastest.push_back({gate.percent / 100, *gate.min_s});
    if (gate.max_s) curve.slowest.push_back({gate.percent / 100, *gate.max_s});
  }
  // The first gate is a withstand of hours: equilibrium, so below it the opener carries for ever.
  curve.carries_multiple = curve.fastest.front().multiple;
  curve.beyond = breaker ? Beyond::constant_time : Beyond::constant_let_through;
  curve.derating_per_k = breaker ? 0.005 : 0.002;
  curve.reference = Celsius(breaker ? 30 : 25);
  return curve;
}

OpenerCurve definite_time(Ampere trips_above, Second soonest, Second latest, double tolerance) {
  OpenerCurve curve;
  curve.rated = trips_above;
  curve.carries_multiple = 1 - tolerance;
  if (soonest.value > 0) curve.fastest.push_back({1 - tolerance, soonest.value});
  if (latest.value > 0) curve.slowest.push_back({1 + tolerance, latest.value});
  curve.beyond = Beyond::constant_time;
  return curve;
}

std::optional<std::string> curve_fault(const OpenerCurve& curve) {
  if (!std::isfinite(curve.rated.value) || curve.rated.value <= 0) return "the rated current is not positive";
  if (auto fault = edge_fault(curve.fastest, "fastest")) return fault;
  if (auto fault = edge_fault(curve.slowest, "slowest")) return fault;
  if (curve.slowest.empty()) return "no slowest opening time is given";
  // Both edges are straight in log-log between points, so it is enough to compare them at every point of either.
  for (const auto* edge : {&curve.fastest, &curve.slowest})
    for (const EdgePoint& p : *edge) {
      const Ampere current = curve.rated * p.multiple;
      const bool carries = std::isinf(fastest(curve, current).value);
      if (!carries && fastest(curve, current).value > slowest(curve, current).value * (1 + 1e-9))
        return "the fastest time exceeds the slowest time at " + std::to_string(p.multiple) + " times rated";
      if (carries && std::isfinite(slowest(curve, current).value))
        return "it must open at " + std::to_string(p.multiple) + " times rated, where it carries for ever";
    }
  return std::nullopt;
}

std::variant<OpenerCurve, std::string> user_curve(Ampere rated, const std::vector<UserPoint>& points) {
  OpenerCurve curve;
  curve.rated = rated;
  curve.derating_per_k = 0.002;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const UserPoint& p = points[i];
    if (i > 0 && !(p.multiple > points[i - 1].multiple)) return "the currents do not ascend from point to point";
    if (p.fastest_s) curve.fastest.push_back({p.multiple, *p.fastest_s});
    if (p.slowest_s) curve.slowest.push_back({p.multiple, *p.slowest_s});
  }
  if (auto fault = curve_fault(curve)) return *fault;
  return curve;
}

}  // namespace loomproof
