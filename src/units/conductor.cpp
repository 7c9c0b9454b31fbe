// Copper conductors: AWG by formula, metric sizes by table, everything else by area.
#include "units/conductor.h"

#include <cmath>
#include <numbers>

#include "units/conductor_table.h"

namespace loomproof {
namespace {

constexpr double iacs_ohm_mm2_per_m = 1.7241e-2;  // 100 % IACS at 20 degC, IEC 60028
constexpr double stranding_lay = 1.02;            // strands run a little longer than the cable; ASTM B8
constexpr double copper_per_kelvin = 0.00393;     // at 20 degC, IEC 60287-1-1
constexpr double stranded_over_solid = 1.13;      // diameter; common practice, no source

// Wall of insulation in mm over a conductor of diameter d. One line for all sizes. With it the cable diameter meets the
// thin-wall rows of ISO 6722-1 (0.22 to 6 mm2, from memory) to within 5 %, and gives 10.7 mm for 35 mm2 and 13.1 mm for
// 50 mm2 against about 11 and 13 mm of thin-walled battery cable (from memory). tests/units/conductor_test.cpp measures
// both.
double wall_mm(double d_mm) {
  return 0.16 + 0.11 * d_mm;
}

}  // namespace

SquareMillimetre awg_area(int gauge) {
  const double d_mm = 0.127 * std::pow(92.0, (36.0 - gauge) / 39.0);
  return SquareMillimetre(std::numbers::pi / 4 * d_mm * d_mm);
}

std::optional<int> awg_of(SquareMillimetre area) {
  if (!(area.value > 0) || !std::isfinite(area.value)) return std::nullopt;
  const double d_mm = std::sqrt(area.value * 4 / std::numbers::pi);
  const double gauge = std::round(36 - 39 * std::log(d_mm / 0.127) / std::log(92.0));
  if (gauge < -3 || gauge > 40) return std::nullopt;
  const double exact_mm2 = awg_area(static_cast<int>(gauge)).value;
  if (std::abs(area.value - exact_mm2) > 0.005 * exact_mm2) return std::nullopt;
  return static_cast<int>(gauge);
}

double copper_ohm_per_metre(SquareMillimetre area, Celsius temperature) {
  const MetricConductor* row = find_metric_conductor(area.value);
  const double at_20 = row ? row->max_milliohm_per_m / 1000 : iacs_ohm_mm2_per_m / area.value * stranding_lay;
  return at_20 * copper_temperature_factor(temperature);
}

double copper_temperature_factor(Celsius temperature) {
  return 1 + copper_per_kelvin * (temperature.value - 20);
}

double conductor_diameter_mm(SquareMillimetre area) {
  const MetricConductor* row = find_metric_conductor(area.value);
  if (row && row->max_conductor_mm) return *row->max_conductor_mm;
  return stranded_over_solid * std::sqrt(area.value * 4 / std::numbers::pi);
}

double cable_diameter_mm(SquareMillimetre area) {
  const MetricConductor* row = find_metric_conductor(area.value);
  if (row && row->max_cable_mm) return *row->max_cable_mm;
  const double d_mm = conductor_diameter_mm(area);
  return d_mm + 2 * wall_mm(d_mm);
}

}  // namespace loomproof
