// Heat from a horizontal cylinder into still air: properties of air, natural convection, grey radiation.
#pragma once

namespace loomproof {

/// Dry air at one atmosphere.
struct AirProperties {
  double conductivity_w_per_m_k = 0;
  double kinematic_viscosity_m2_per_s = 0;
  double prandtl = 0;
};

/// Properties at a film temperature in degC. Quadratic fits to Cengel, Heat and Mass Transfer, table A-15; density by
/// the ideal gas law. Within 0.5 % of every table row from 0 to 120 degC; used from -50 to 600 degC.
AirProperties air_at(double film_c);

/// Ra = g beta dT D^3 Pr / nu^2 with beta = 1 / T_film (ideal gas).
double rayleigh_number(double diameter_m, double rise_k, double film_c);

/// Nu = (0.6 + 0.387 Ra^(1/6) / (1 + (0.559/Pr)^(9/16))^(8/27))^2, horizontal cylinder.
/// Churchill and Chu, Int. J. Heat Mass Transfer 18 (1975) 1049; stated for 1e-5 < Ra < 1e12.
double churchill_chu_nusselt(double rayleigh, double prandtl);

/// A long horizontal cylinder in still air. No draught, sea level, surroundings at the air's temperature.
struct CylinderInAir {
  double diameter_m = 0;
  double emissivity = 0;
  double ambient_c = 0;
};

/// What leaves one metre, and how it grows with the surface temperature.
struct SurfaceHeat {
  double heat_w_per_m = 0;
  double slope_w_per_m_k = 0;
};

/// Convection (Churchill-Chu) plus radiation (Stefan-Boltzmann) at a surface temperature in degC; negative heat when
/// the surface is colder than the air. Agrees with the functions above to 0.02 %.
SurfaceHeat heat_from(const CylinderInAir& cylinder, double surface_c);

}  // namespace loomproof
