// ISO 6722-1:2011 from 0.22 to 120 mm2 (all from memory; the rows also stand in tests/reference/metric_resistance.csv,
// except 0.22 mm2), then above 120 mm2 IEC 60228:2004 class 5, plain copper: resistance of table 3 and greatest
// diameters of annex C (from memory).
#include "units/conductor_table.h"

#include <cmath>

namespace loomproof {
namespace {

constexpr std::nullopt_t none = std::nullopt;

const MetricConductor rows[] = {
    {0.22, 84.4, 0.7, 1.2},  {0.35, 54.4, 0.9, 1.4},  {0.5, 37.1, 1.1, 1.6},    {0.75, 24.7, 1.3, 1.9},
    {1, 18.5, 1.5, 2.1},     {1.25, 14.9, 1.7, none}, {1.5, 12.7, 1.8, 2.4},    {2, 9.42, 2.0, 2.8},
    {2.5, 7.6, 2.2, 3.0},    {3, 6.15, 2.4, 3.4},     {4, 4.71, 2.8, 3.7},      {5, 3.94, 3.1, 4.2},
    {6, 3.14, 3.4, 4.3},     {8, 2.38, 4.3, none},    {10, 1.82, 4.5, none},    {12, 1.52, 5.4, none},
    {16, 1.16, 5.8, none},   {20, 0.955, 6.9, none},  {25, 0.743, 7.2, none},   {30, 0.647, 8.3, none},
    {35, 0.527, 8.5, none},  {40, 0.473, 9.6, none},  {50, 0.368, 10.5, none},  {60, 0.315, 11.6, none},
    {70, 0.259, 12.5, none}, {95, 0.196, 14.8, none}, {120, 0.153, 16.5, none}, {150, 0.129, 19, none},
    {185, 0.106, 21, none},  {240, 0.0801, 24, none},
};

}  // namespace

std::span<const MetricConductor> metric_conductors() {
  return rows;
}

const MetricConductor* find_metric_conductor(double size_mm2) {
  for (const MetricConductor& row : rows) {
    if (std::abs(size_mm2 - row.size_mm2) <= 1e-6 * row.size_mm2) return &row;
  }
  return nullptr;
}

}  // namespace loomproof
