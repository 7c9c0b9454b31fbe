// How hot the wires of a bundle get: the bundle is one body, every wire adds its own heat to it.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "solve/wire_heat.h"
#include "units/quantity.h"

namespace loomproof {

/// What holds the bundle together over its whole length.
enum class Sleeve { none, braided, corrugated, taped };

/// A wire in a bundle with what it carries; 0 A for one that only takes up room.
struct LoadedWire {
  WireBuild build;
  Ampere current;
};

/// Share of the bundle's cross-section that its wires fill, the rest being air. Seven equal round wires laid by hand
/// fill 0.6..0.78 of their circle; common practice, no source.
inline constexpr double bundle_packing = 0.60;

/// Conductivity across a bundle of insulated wires with air between, W/(m K): below that of the insulation (0.2..0.3),
/// far above that of air (0.03). Our figure; the published grouping factors that it leads to are checked in the test.
inline constexpr double bundle_conductivity_w_per_m_k = 0.15;

/// The bundle as a body: geometry and resistances that do not change with the load.
struct BundleBody {
  double wires_mm2 = 0;            ///< summed circles of the wires' outsides
  double bundle_diameter_mm = 0;   ///< round the wires
  double outside_diameter_mm = 0;  ///< round the sleeve
  double sleeve_k_m_per_w = 0;     ///< through the sleeve
  double emissivity = 0;
};

/// One wire: its own outside, whatever the packing. More: sqrt(sum d^2 / bundle_packing), and the sleeve's wall.
BundleBody bundle_body(std::span<const LoadedWire> wires, Sleeve sleeve);

/// Rise of a wire's place over the body's surface when the hottest producers lie in the core, in kelvin.
/// Q(a) is the most heat that any part `a` of the cross-section can make; heat flows outward, so a wire of section a_i
/// in the middle sees 1/(4 pi k) * integral from a_i to A of Q(a)/a da. One value a wire.
std::vector<double> core_rises_k(std::span<const LoadedWire> wires, std::span<const double> heat_w_per_m);

/// Temperature around the wires at which the body gives off that heat. A sleeve is never credited with cooling, though
/// a thin bundle gives off more heat when it is made thicker: the sleeve does not touch it everywhere.
double around_wires_c(const BundleBody& body, Celsius ambient, double heat_w_per_m, double guess_c);

/// The bundle's and the sleeve's outside in air of that temperature.
CylinderInAir bundle_outside(const BundleBody& body, Celsius ambient);
CylinderInAir sleeve_outside(const BundleBody& body, Celsius ambient);

/// Steady conductor temperature of every wire, in the order given; nullopt for all when the body has no steady state
/// with every conductor below copper's melting point.
///
/// Every wire is taken to lie in the core, which is the most demanding place: conductor = surface of the body + core
/// rise
/// + its own insulation's drop. The body's surface gives its heat to still air by Churchill-Chu and radiation. Each
/// wire's resistance follows its own temperature. No wire is taken for cooler than it is alone in air, though idle
/// neighbours would spread its heat. One wire without sleeve is steady_temperature. More current anywhere
/// lowers no temperature. Currents are taken as given: pass judged(current) to judge.
std::optional<std::vector<Celsius>> bundle_temperatures(std::span<const LoadedWire> wires, Sleeve sleeve,
                                                        Celsius ambient);

}  // namespace loomproof
