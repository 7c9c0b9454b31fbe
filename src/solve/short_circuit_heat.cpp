// Adiabatic heating of copper, IEC 60949.
#include "solve/short_circuit_heat.h"

#include <cmath>
#include <limits>

#include "solve/wire_heat.h"

namespace loomproof {
namespace {

constexpr double beta_c = 234.5;
constexpr double heat_j_per_k_mm3 = 3.45e-3;
constexpr double rho20_ohm_mm = 17.241e-6;
constexpr double k2_per_ln = heat_j_per_k_mm3 * (beta_c + 20) / rho20_ohm_mm;  // (226 A s^0.5 / mm2)^2

}  // namespace

double adiabatic_k(Celsius initial, Celsius last) {
  if (!(last > initial)) return 0;
  return std::sqrt(k2_per_ln * std::log((beta_c + last.value) / (beta_c + initial.value)));
}

double adiabatic_let_through_a2s(SquareMillimetre area, Celsius initial, Celsius last) {
  const double ks = adiabatic_k(initial, last) * area.value;
  return ks * ks;
}

Second adiabatic_time(SquareMillimetre area, Ampere current, Celsius initial, Celsius last) {
  const double let_through_a2s = adiabatic_let_through_a2s(area, initial, last);
  if (let_through_a2s == 0) return Second(0);
  if (current.value == 0) return Second(std::numeric_limits<double>::infinity());
  return Second(let_through_a2s / (current.value * current.value));
}

std::optional<Celsius> adiabatic_temperature(SquareMillimetre area, double let_through_a2s, Celsius initial) {
  const double last_c =
      (beta_c + initial.value) * std::exp(let_through_a2s / (k2_per_ln * area.value * area.value)) - beta_c;
  if (!(last_c <= copper_melting_point.value)) return std::nullopt;
  return Celsius(last_c);
}

SquareMillimetre adiabatic_area(Ampere current, Second duration, Celsius initial, Celsius last) {
  return SquareMillimetre(std::abs(current.value) * std::sqrt(duration.value) / adiabatic_k(initial, last));
}

}  // namespace loomproof
