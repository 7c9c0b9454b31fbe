// Reads a sampled damage curve.
#include "solve/damage_curve.h"

#include <algorithm>
#include <limits>

namespace loomproof {

Second time_to_damage(const DamageCurve& curve, Ampere current) {
  if (std::isnan(current.value)) return Second(0);  // an unknown current is never a pass
  if (current.value <= curve.asymptote_a) return Second(std::numeric_limits<double>::infinity());
  if (curve.samples.empty()) {
    // Nothing is known above the span: at once, the demanding answer.
    return Second(current.value <= curve.max_a ? std::numeric_limits<double>::infinity() : 0);
  }
  const auto& samples = curve.samples;
  if (current.value > curve.max_a)
    return Second(std::exp(samples.back().ln_time_s) * std::pow(curve.max_a / current.value, 2));
  const double u = curve.u_of(current.value);
  if (u <= samples.front().u) return Second(std::exp(samples.front().ln_time_s));
  if (u >= samples.back().u) return Second(std::exp(samples.back().ln_time_s));
  const auto to =
      std::upper_bound(samples.begin(), samples.end(), u, [](double x, const auto& sample) { return x < sample.u; });
  const auto from = to - 1;
  const double share = (u - from->u) / (to->u - from->u);
  return Second(std::exp(from->ln_time_s + share * (to->ln_time_s - from->ln_time_s)));
}

}  // namespace loomproof
