// Steady heat of a bundle.
#include "solve/bundle_heat.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "solve/circle.h"

namespace loomproof {
namespace {

// A sleeve adds a wall (for a corrugated tube mostly the air in it) of some conductivity; common practice, no source.
struct SleeveWall {
  double wall_mm;
  double conductivity_w_per_m_k;
};

SleeveWall wall_of(Sleeve sleeve) {
  switch (sleeve) {
    case Sleeve::none:
      return {0, 1};
    case Sleeve::braided:
      return {0.6, 0.08};  // open mesh of polyester, half air
    case Sleeve::corrugated:
      return {2.5, 0.045};  // loose tube: air that conducts and radiates, then 0.3 mm of plastic
    case Sleeve::taped:
      return {0.4, 0.17};  // two layers of PVC tape
  }
  return {0, 1};
}

// From below to the least solution: every pass can only warm, so the passes end there or beyond the melting point.
constexpr int most_passes = 400;
constexpr double settled_pass_k = 1e-7;

// Surface temperature at which a cylinder gives off that heat.
double surface_giving_c(const CylinderInAir& outside, double heat_w_per_m, double guess_c) {
  double surface_c = guess_c;
  for (int i = 0; i < 60; ++i) {
    const SurfaceHeat out = heat_from(outside, surface_c);
    const double step_k = (out.heat_w_per_m - heat_w_per_m) / out.slope_w_per_m_k;
    surface_c = std::max(surface_c - step_k, outside.ambient_c);
    if (std::abs(step_k) < 1e-9 * (1 + std::abs(surface_c))) break;
  }
  return surface_c;
}

}  // namespace

BundleBody bundle_body(std::span<const LoadedWire> wires, Sleeve sleeve) {
  BundleBody body;
  double emissivity_mm2 = 0;
  for (const LoadedWire& wire : wires) {
    const double wire_mm2 = circle_mm2(wire.build.outside_diameter_mm);
    body.wires_mm2 += wire_mm2;
    emissivity_mm2 += wire.build.emissivity * wire_mm2;
  }
  if (wires.empty()) return body;
  body.emissivity = emissivity_mm2 / body.wires_mm2;
  const double packing = wires.size() == 1 ? 1 : bundle_packing;
  body.bundle_diameter_mm = std::sqrt(body.wires_mm2 / packing * 4 / std::numbers::pi);
  const SleeveWall wall = wall_of(sleeve);
  body.outside_diameter_mm = body.bundle_diameter_mm + 2 * wall.wall_mm;
  body.sleeve_k_m_per_w = std::log(body.outside_diameter_mm / body.bundle_diameter_mm) /
                          (2 * std::numbers::pi * wall.conductivity_w_per_m_k);
  return body;
}

std::vector<double> core_rises_k(std::span<const LoadedWire> wires, std::span<const double> heat_w_per_m) {
  const std::size_t n = wires.size();
  std::vector<double> area_mm2(n);
  std::vector<std::size_t> order(n);
  for (std::size_t i = 0; i < n; ++i) {
    area_mm2[i] = circle_mm2(wires[i].build.outside_diameter_mm);
    order[i] = i;
  }
  std::ranges::sort(order, [&](std::size_t a, std::size_t b) {
    return heat_w_per_m[a] * area_mm2[b] > heat_w_per_m[b] * area_mm2[a];
  });

  // Layers from the middle outward, each of one heat density, with what is made within each layer's inner border.
  std::vector<double> border_mm2(n + 1, 0);
  std::vector<double> within_w(n + 1, 0);
  for (std::size_t layer = 0; layer < n; ++layer) {
    border_mm2[layer + 1] = border_mm2[layer] + area_mm2[order[layer]];
    within_w[layer + 1] = within_w[layer] + heat_w_per_m[order[layer]];
  }
  // Integral of Q(a)/a over a part of one layer, in which Q is a line.
  const auto part_w = [&](std::size_t layer, double from_mm2) {
    const double density = heat_w_per_m[order[layer]] / area_mm2[order[layer]];
    return density * (border_mm2[layer + 1] - from_mm2) +
           (within_w[layer] - density * border_mm2[layer]) * std::log(border_mm2[layer + 1] / from_mm2);
  };
  std::vector<double> beyond_w(n + 1, 0);  // integral from a layer's inner border to the outside
  for (std::size_t layer = n; layer-- > 1;) beyond_w[layer] = beyond_w[layer + 1] + part_w(layer, border_mm2[layer]);

  std::vector<double> rises(n);
  for (std::size_t i = 0; i < n; ++i) {
    const auto outer = std::upper_bound(border_mm2.begin() + 1, border_mm2.end(), area_mm2[i]);
    if (outer == border_mm2.end()) continue;  // the wire is the bundle
    const auto layer = static_cast<std::size_t>(outer - border_mm2.begin()) - 1;
    rises[i] =
        (part_w(layer, area_mm2[i]) + beyond_w[layer + 1]) / (4 * std::numbers::pi * bundle_conductivity_w_per_m_k);
  }
  return rises;
}

double around_wires_c(const BundleBody& body, Celsius ambient, double heat_w_per_m, double guess_c) {
  const double bare_c = surface_giving_c(bundle_outside(body, ambient), heat_w_per_m, guess_c);
  if (body.sleeve_k_m_per_w == 0) return bare_c;
  const double sleeved_c =
      surface_giving_c(sleeve_outside(body, ambient), heat_w_per_m, guess_c) + heat_w_per_m * body.sleeve_k_m_per_w;
  return std::max(bare_c, sleeved_c);
}

CylinderInAir bundle_outside(const BundleBody& body, Celsius ambient) {
  return {.diameter_m = body.bundle_diameter_mm * 1e-3, .emissivity = body.emissivity, .ambient_c = ambient.value};
}

CylinderInAir sleeve_outside(const BundleBody& body, Celsius ambient) {
  return {.diameter_m = body.outside_diameter_mm * 1e-3, .emissivity = body.emissivity, .ambient_c = ambient.value};
}

std::optional<std::vector<Celsius>> bundle_temperatures(std::span<const LoadedWire> wires, Sleeve sleeve,
                                                        Celsius ambient) {
  if (wires.empty()) return std::vector<Celsius>{};
  if (wires.size() == 1 && sleeve == Sleeve::none) {
    const auto alone = steady_temperature(wires[0].build, wires[0].current, ambient);
    if (!alone) return std::nullopt;
    return std::vector<Celsius>{*alone};
  }
  std::vector<double> alone_c;
  for (const LoadedWire& wire : wires) {
    const auto alone = steady_temperature(wire.build, wire.current, ambient);
    if (!alone) return std::nullopt;
    alone_c.push_back(alone->value);
  }
  const BundleBody body = bundle_body(wires, sleeve);
  std::vector<Celsius> conductors(wires.size(), ambient);
  std::vector<double> heat_w_per_m(wires.size());
  double around_c = ambient.value;
  for (int pass = 0; pass < most_passes; ++pass) {
    double whole_w_per_m = 0;
    for (std::size_t i = 0; i < wires.size(); ++i) {
      const double current_a = wires[i].current.value;
      heat_w_per_m[i] = current_a * current_a * ohm_per_metre_at(wires[i].build, conductors[i]);
      whole_w_per_m += heat_w_per_m[i];
    }
    around_c = around_wires_c(body, ambient, whole_w_per_m, around_c + 1);
    const std::vector<double> rises = core_rises_k(wires, heat_w_per_m);
    double moved_k = 0;
    for (std::size_t i = 0; i < wires.size(); ++i) {
      const double bundled_c = around_c + rises[i] + heat_w_per_m[i] * insulation_k_m_per_w(wires[i].build);
      const double now_c = std::max(bundled_c, alone_c[i]);
      if (!(now_c <= copper_melting_point.value)) return std::nullopt;
      moved_k = std::max(moved_k, std::abs(now_c - conductors[i].value));
      conductors[i] = Celsius(now_c);
    }
    if (moved_k < settled_pass_k) return conductors;
  }
  return std::nullopt;
}

}  // namespace loomproof
