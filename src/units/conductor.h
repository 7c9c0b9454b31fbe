// Copper conductors: AWG and metric sizes, resistance at a temperature, outer diameters.
#pragma once

#include <optional>

#include "units/quantity.h"

namespace loomproof {

/// Solid area of an AWG size in mm2; 1/0 is 0, 2/0 is -1, 3/0 is -2, 4/0 is -3.
/// ASTM B258: d = 0.127 mm * 92^((36 - n) / 39).
SquareMillimetre awg_area(int gauge);

/// The AWG size whose ASTM B258 area is `area` to within 0.5 %, if there is one.
std::optional<int> awg_of(SquareMillimetre area);

/// Resistance of one metre of copper at `temperature`, in ohm per metre.
///
/// A metric nominal size (0.22 to 120 mm2) takes the *maximum* of ISO 6722-1 at 20 degC (the more demanding choice for
/// drop and heat); where that table has no row, IEC 60228 class 5; any other area takes the IACS resistivity
/// 1.7241e-8 ohm m divided by area and 2 % more for stranding lay.
/// Temperature: R(T) = R20 * (1 + 0.00393 (T - 20)), IEC 60287-1-1.
double copper_ohm_per_metre(SquareMillimetre area, Celsius temperature);

/// R(T)/R(20 degC) of copper; IEC 60287-1-1.
double copper_temperature_factor(Celsius temperature);

/// Outside diameter of the bare stranded conductor in mm: a solid circle of the area times 1.13 for stranding, or the
/// maximum of ISO 6722-1 where the size has a row.
double conductor_diameter_mm(SquareMillimetre area);

/// Outside diameter of a single insulated vehicle cable in mm: ISO 6722-1 thin wall where the table has a row,
/// otherwise conductor diameter plus twice a wall that grows with the conductor (formula and its fit to the table
/// stand beside the code).
double cable_diameter_mm(SquareMillimetre area);

}  // namespace loomproof
