// How long a wire stands a current: a sampled curve that any thermal model can fill and any opener be held against.
#pragma once

#include <cmath>
#include <concepts>
#include <vector>

#include "units/quantity.h"

namespace loomproof {

/// Time to damage against current. Never rises with current; infinite at or below `asymptote_a`.
///
/// Samples are even in u = ln(I / asymptote - 1), in which the logarithm of a time that diverges at the asymptote
/// (t = -tau ln(1 - (I0/I)^2)) and falls as I^-2 far above it is nearly straight at both ends; between samples ln t is
/// straight in u. With the default 400 samples the error is below 0.1 % for such a curve. Asymptote 0 (nothing is
/// carried) samples evenly in u = ln I.
struct DamageCurve {
  struct Sample {
    double u;
    double ln_time_s;
  };

  double asymptote_a = 0;       // A, carried for ever
  double max_a = 0;             // A, largest current sampled; above it t falls as I^-2 (adiabatic)
  std::vector<Sample> samples;  // u ascending, times not ascending; empty: no current up to max_a does damage

  /// Samples `time_to_damage` (Ampere -> Second, may be infinite) from just above `asymptote` to `max`.
  /// Asymptote: the largest current that is carried for ever, A, >= 0. A non-finite or negative time is taken as 0 when
  /// not a number or negative (the more demanding), as "not damaged" when infinite.
  template <std::invocable<Ampere> Callable>
  static DamageCurve sample(const Callable& time_to_damage, Ampere asymptote, Ampere max, int count = 400);

  double u_of(double current_a) const {
    return asymptote_a > 0 ? std::log(current_a / asymptote_a - 1) : std::log(current_a);
  }
  double current_of(double u) const { return asymptote_a > 0 ? asymptote_a * (1 + std::exp(u)) : std::exp(u); }
};

/// Time to damage at `current`, read from the samples; below the first sample that of the first sample (too short
/// rather than too long).
Second time_to_damage(const DamageCurve&, Ampere current);

/// Largest relative error found halfway between the samples of a curve, against what they were taken from.
template <std::invocable<Ampere> Callable>
double interpolation_error(const DamageCurve& curve, const Callable& time_to_damage) {
  double largest = 0;
  for (std::size_t i = 1; i < curve.samples.size(); ++i) {
    const DamageCurve::Sample &from = curve.samples[i - 1], &to = curve.samples[i];
    const double time_s = time_to_damage(Ampere(curve.current_of((from.u + to.u) / 2))).value;
    const double read = (from.ln_time_s + to.ln_time_s) / 2;
    largest = std::fmax(largest, std::fabs(std::expm1(read - std::log(time_s))));
  }
  return largest;
}

template <std::invocable<Ampere> Callable>
DamageCurve DamageCurve::sample(const Callable& time_to_damage, Ampere asymptote, Ampere max, int count) {
  constexpr double nearest = 1e-4;  // share above the asymptote of the first sample
  DamageCurve curve;
  curve.asymptote_a = asymptote.value;
  curve.max_a = max.value;
  const double first_a = asymptote.value > 0 ? asymptote.value * (1 + nearest) : max.value * 1e-4;
  if (!(max.value > first_a)) {
    // Too narrow to sample: everything above the asymptote has the time at the top of the span.
    if (max.value > asymptote.value) {
      const double t = time_to_damage(max).value;
      if (!std::isinf(t)) curve.samples = {{curve.u_of(max.value), std::log(std::fmax(t, 1e-9))}};
    }
    return curve;
  }
  const auto ln_time_at = [&](double u) {
    const double t = time_to_damage(Ampere(curve.current_of(u))).value;
    return t > 0 ? std::log(t) : std::log(1e-9);  // at once, also for a time that is not a number
  };
  const double u_first = curve.u_of(first_a);
  const double u_step = (curve.u_of(max.value) - u_first) / (count - 1);
  for (int i = 0; i < count; ++i) {
    const double u = u_first + u_step * i;
    double ln_time_s = ln_time_at(u);
    if (std::isinf(ln_time_s)) continue;  // the model carries more than the stated asymptote
    if (!curve.samples.empty()) ln_time_s = std::fmin(ln_time_s, curve.samples.back().ln_time_s);
    curve.samples.push_back({u, ln_time_s});
  }
  return curve;
}

}  // namespace loomproof
