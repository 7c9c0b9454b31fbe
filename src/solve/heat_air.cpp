// Heat from a horizontal cylinder into still air.
#include "solve/heat_air.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace loomproof {
namespace {

constexpr double kelvin = 273.15;
constexpr double gravity_m_per_s2 = 9.81;
constexpr double stefan_boltzmann_w_per_m2_k4 = 5.670374e-8;

// Fits through the 0, 100 and 300 degC rows of Cengel table A-15 (the 300 degC row from memory).
constexpr double conductivity_fit[] = {0.02364, 7.542e-5, -2.317e-8};
constexpr double dynamic_viscosity_fit[] = {1.729e-5, 4.772e-8, -2.517e-11};
constexpr double prandtl_fit[] = {0.7362, -3.053e-4, 5.433e-7};
constexpr double density_times_kelvin = 352.98;  // kg K / m3, ideal gas at 101325 Pa

// 0.387 (Pr f(Pr))^(1/6) of Churchill-Chu as a line in Pr: within 0.01 % from Pr 0.69 to 0.75.
constexpr double churchill_chu_line[] = {0.230194, 0.103149};

constexpr double quadratic(const double (&fit)[3], double t) {
  return fit[0] + t * (fit[1] + t * fit[2]);
}
constexpr double slope_of(const double (&fit)[3], double t) {
  return fit[1] + 2 * t * fit[2];
}

// The Prandtl fit has its lowest point here; the table stays near that value above.
constexpr double prandtl_lowest_c = 281;

double prandtl_at(double film_c) { return quadratic(prandtl_fit, std::min(film_c, prandtl_lowest_c)); }

}  // namespace

AirProperties air_at(double film_c) {
  return {.conductivity_w_per_m_k = quadratic(conductivity_fit, film_c),
          .kinematic_viscosity_m2_per_s =
              quadratic(dynamic_viscosity_fit, film_c) * (film_c + kelvin) / density_times_kelvin,
          .prandtl = prandtl_at(film_c)};
}

double rayleigh_number(double diameter_m, double rise_k, double film_c) {
  const AirProperties air = air_at(film_c);
  const double nu = air.kinematic_viscosity_m2_per_s;
  return gravity_m_per_s2 / (film_c + kelvin) * rise_k * diameter_m * diameter_m * diameter_m * air.prandtl / (nu * nu);
}

double churchill_chu_nusselt(double rayleigh, double prandtl) {
  const double root =
      0.6 + 0.387 * std::pow(rayleigh, 1.0 / 6) / std::pow(1 + std::pow(0.559 / prandtl, 9.0 / 16), 8.0 / 27);
  return root * root;
}

// q = pi k (0.6 + u)^2 dT + pi D eps sigma (Ts^4 - Ta^4),  u = c(Pr) (g dT D^3 / (T_film nu^2))^(1/6).
// The slope takes in how k and u move with the film temperature, so that Newton's method keeps its speed.
SurfaceHeat heat_from(const CylinderInAir& cylinder, double surface_c) {
  const double rise_k = surface_c - cylinder.ambient_c;
  const double film_c = 0.5 * (surface_c + cylinder.ambient_c);
  const double film_k = film_c + kelvin;
  const double d = cylinder.diameter_m;

  const double k = quadratic(conductivity_fit, film_c);
  const double mu = quadratic(dynamic_viscosity_fit, film_c);
  const double nu = mu * film_k / density_times_kelvin;
  const double c = churchill_chu_line[0] + churchill_chu_line[1] * prandtl_at(film_c);
  const double u = c * std::cbrt(std::sqrt(gravity_m_per_s2 * std::abs(rise_k) * d / film_k) * d / nu);
  const double root = 0.6 + u;

  const double c_slope = film_c < prandtl_lowest_c ? churchill_chu_line[1] * slope_of(prandtl_fit, film_c) : 0;
  const double u_film_slope =
      u * (0.5 * c_slope / c - (3 / film_k + 2 * slope_of(dynamic_viscosity_fit, film_c) / mu) / 12);
  const double k_film_slope = 0.5 * slope_of(conductivity_fit, film_c);
  const double convection = std::numbers::pi * root * rise_k * k * root;
  const double convection_slope =
      std::numbers::pi * root * (root * (k + k_film_slope * rise_k) + 2 * k * (u / 6 + u_film_slope * rise_k));

  const double surface_k = surface_c + kelvin;
  const double ambient_k = cylinder.ambient_c + kelvin;
  const double surface_k2 = surface_k * surface_k;
  const double ambient_k2 = ambient_k * ambient_k;
  const double grey = std::numbers::pi * d * cylinder.emissivity * stefan_boltzmann_w_per_m2_k4;
  return {.heat_w_per_m = convection + grey * (surface_k2 + ambient_k2) * (surface_k + ambient_k) * rise_k,
          .slope_w_per_m_k = convection_slope + 4 * grey * surface_k2 * surface_k};
}

}  // namespace loomproof
