// The time-current band of a fuse of the loom.
#include "solve/fuse_band.h"

#include <string>
#include <variant>
#include <vector>

namespace loomproof {
namespace {

OpenerKind kind_of(const std::string& curve, double rated_a) {
  if (curve == "bolt-in") return OpenerKind::bolt_in;
  if (curve == "cartridge") return OpenerKind::cartridge_gg;
  if (curve == "breaker") return OpenerKind::breaker_c;
  return rated_a > 40 ? OpenerKind::high_power_blade : OpenerKind::blade;
}

}  // namespace

std::optional<OpenerCurve> curve_of(const Loom& loom, const Fuse& fuse) {
  if (!fuse.rated_a || *fuse.rated_a <= 0) return std::nullopt;
  const Ampere rated(*fuse.rated_a);
  const Scalar* points = loom.part(fuse.part).find("points");
  if (points != nullptr) {
    if (const auto* rows = std::get_if<std::vector<CurveRow>>(&points->value)) {
      std::vector<UserPoint> given;
      for (const CurveRow& row : *rows) given.push_back({row.multiple, row.fastest_s, row.slowest_s});
      auto made = user_curve(rated, given);
      if (auto* curve = std::get_if<OpenerCurve>(&made)) return *curve;
      return std::nullopt;
    }
  }
  if (fuse.curve.empty()) return std::nullopt;
  if (fuse.curve == "electronic") {
    // A trip of definite time: its threshold may lie a tenth off (common practice, no source).
    const auto delay_s = loom.part(fuse.part).number("discharge_trip.for");
    if (!delay_s) return std::nullopt;
    return definite_time(rated, Second(*delay_s), Second(*delay_s), 0.1);
  }
  return generic_curve(kind_of(fuse.curve, *fuse.rated_a), rated);
}

}  // namespace loomproof
