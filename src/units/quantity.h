// Typed quantities: two different ones do not add, and a raw double never passes for either.
#pragma once

#include <compare>

namespace loomproof {

/// A number with its dimension in the type; `value` is in the one base unit named beside each alias below.
template <class Tag>
struct Quantity {
  double value = 0;

  constexpr Quantity() = default;
  explicit constexpr Quantity(double v) : value(v) {}

  friend constexpr auto operator<=>(const Quantity&, const Quantity&) = default;
  friend constexpr Quantity operator+(Quantity a, Quantity b) { return Quantity(a.value + b.value); }
  friend constexpr Quantity operator-(Quantity a, Quantity b) { return Quantity(a.value - b.value); }
  friend constexpr Quantity operator-(Quantity a) { return Quantity(-a.value); }
  friend constexpr Quantity operator*(Quantity a, double k) { return Quantity(a.value * k); }
  friend constexpr Quantity operator*(double k, Quantity a) { return Quantity(a.value * k); }
  friend constexpr Quantity operator/(Quantity a, double k) { return Quantity(a.value / k); }
  friend constexpr double operator/(Quantity a, Quantity b) { return a.value / b.value; }
};

using Ampere = Quantity<struct AmpereTag>;                      // A
using Volt = Quantity<struct VoltTag>;                          // V
using Ohm = Quantity<struct OhmTag>;                            // ohm
using Farad = Quantity<struct FaradTag>;                        // F
using Watt = Quantity<struct WattTag>;                          // W
using Joule = Quantity<struct JouleTag>;                        // J
using Second = Quantity<struct SecondTag>;                      // s
using Metre = Quantity<struct MetreTag>;                        // m
using SquareMillimetre = Quantity<struct SquareMillimetreTag>;  // mm2
using Celsius = Quantity<struct CelsiusTag>;                    // degC
using AmpereHour = Quantity<struct AmpereHourTag>;              // Ah

/// The same dimensions at run time, for attributes that are declared in the catalogue's data.
enum class Dimension {
  current,
  voltage,
  resistance,
  capacitance,
  power,
  energy,
  time,
  length,
  area,
  temperature,
  charge,       // Ah
  let_through,  // A2s
  acceleration,  // m/s2
  ratio,        // a plain number such as 0.9, or a percentage such as 90 %
  count,        // a whole number without unit
};

}  // namespace loomproof
