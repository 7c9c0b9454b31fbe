// Closed forms of closing surges.
#include "solve/inrush.h"

#include <cmath>
#include <limits>

namespace loomproof {
namespace {
constexpr double lamp_time_constant_s = 1.67e-3;
}

CapacitorInrush capacitor_inrush(Volt step, Ohm loop, Farad capacitance) {
  const double v = step.value, r = loop.value, c = capacitance.value;
  return {Ampere(std::fabs(v) / r), Second(r * c), Joule(c * v * v / 2), v * v * c / (2 * r)};
}

Volt charging_voltage(Volt source, Ohm loop, Farad capacitance, Second time) {
  return source * -std::expm1(-time.value / (loop.value * capacitance.value));
}

Second charging_time(Volt source, Ohm loop, Farad capacitance, Volt reached) {
  if (reached.value <= 0) return Second(0);
  if (reached >= source) return Second(std::numeric_limits<double>::infinity());
  return Second(-loop.value * capacitance.value * std::log1p(-(reached / source)));
}

Ampere lamp_steady_current(Watt power, Volt rated) {
  return Ampere(power.value / rated.value);
}

Ampere lamp_current(Ampere steady, Second time, double multiple) {
  return steady * (1 + (multiple - 1) * std::exp(-time.value / lamp_time_constant_s));
}

double lamp_surge_let_through_a2s(Ampere through, Ampere extra) {
  const double i = through.value, d = extra.value;
  return lamp_time_constant_s * (2 * i * d + d * d / 2);
}

}  // namespace loomproof
