// Quantities to text, with three significant digits and the prefix that a person would choose.
#pragma once

#include <string>

#include "units/quantity.h"

namespace loomproof {

/// `120 A`, `1.2 mohm`, `2.2 mF`, `35 mm2`, `45 s`, `8 min`, `131 degC`, `5.4 kA`. Three significant digits, no
/// exponent, no trailing zeros after the point, no "-0". Lengths below 1 m are printed in mm, times from 120 s in min,
/// from 2 h in h.
std::string show(Ampere);
std::string show(Volt);
std::string show(Ohm);
std::string show(Farad);
std::string show(Watt);
std::string show(Joule);
std::string show(Second);
std::string show(Metre);
std::string show(SquareMillimetre);
std::string show(Celsius);
std::string show(AmpereHour);
/// The same for a value in the base unit of a dimension known only at run time.
std::string show(double base_value, Dimension);

}  // namespace loomproof
