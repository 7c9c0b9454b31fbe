// Up to which temperature an insulation is undamaged when it is hot for a given time only.
#pragma once

#include <cmath>

#include "units/quantity.h"

namespace loomproof {

/// Temperatures of one insulation class, degC, each for its time. ISO 6722-1 / ISO 19642-1 class table for the first
/// three, IEC 60364-5-54 (final temperature behind the adiabatic k) for the last. Where one is not published the caller
/// puts the next lower known one, which is the more demanding. All eight ISO classes have long term + 25 K and + 50 K.
struct DamageLimits {
  Celsius long_term;         // 3000 h
  Celsius short_term_240h;   // 240 h
  Celsius overload_6h;       // 6 h
  Celsius short_circuit_5s;  // up to 5 s
};

/// The longest that a fault current is taken to last when nothing opens: 1 h, the conventional time of small openers
/// (IEC 60269-1, IEC 60898-1). What a wire can stand for 1 h it is taken to stand; what it carries *by design* is
/// judged against the long-term limit by another rule.
///
/// Why not for ever: a blade fuse need not open below 135 % (its gate at 110 % is 100 h *without* opening), so by the
/// long-term limit no customary loom would be protected. Why 1 h and not 6 h: IEC 60364-4-43 clause 433.1 (from memory)
/// accepts overcurrents up to 1.45 times the continuous rating until the conventional time; the limit at 1 h gives 1.49
/// times for cross-linked 90 degC and 1.58 for PVC 70 degC wire in 30 degC air, that at 6 h only 1.35 for the former.
/// A current that nothing opens for hours ages the wire all the same: a caller that wants to say so passes 6 h below.
inline constexpr Second fault_horizon{3600.0};

/// Damage limit for a heating that lasts `time`: 5 s or less the short-circuit temperature, then straight in ln(time)
/// through 6 h (overload), 240 h (short term) to 3000 h (long term), and constant beyond. Times below zero count as 0.
/// The straight lines are our own rule between the published points: ageing by the Arrhenius law makes the endurable
/// temperature nearly straight in the logarithm of time over such a span.
Celsius damage_limit(const DamageLimits&, Second time);

/// First time at which a wire that heats as `temperature_at` (Second -> Celsius, not falling) is damaged: T(t) =
/// damage_limit(t). Infinite when that does not happen within `horizon`. The root is unique because the limit
/// never rises with time; bisection in ln(time) to 1e-9.
template <class Callable>
Second time_to_damage_limit(const Callable& temperature_at, const DamageLimits& limits,
                            Second horizon = fault_horizon) {
  const auto damaged = [&](double time_s) {
    return !(temperature_at(Second(time_s)) < damage_limit(limits, Second(time_s)));
  };
  double low = std::log(1e-6), high = std::log(horizon.value);
  if (!damaged(horizon.value)) return Second(INFINITY);
  if (damaged(1e-6)) return Second(1e-6);
  while (high - low > 1e-9) {
    const double middle = (low + high) / 2;
    (damaged(std::exp(middle)) ? high : low) = middle;
  }
  return Second(std::exp(low));
}

}  // namespace loomproof
