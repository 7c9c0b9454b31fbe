// Time-current bands of openers: what a fuse, a breaker or an electronic limit does at each current, at the soonest and
// at the latest.
#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "units/quantity.h"

namespace loomproof {

/// One point of one edge: at `multiple` of the rated current the edge lies at `time_s`.
struct EdgePoint {
  double multiple = 0;  // of the rated current, > 0
  double time_s = 0;    // s, > 0, finite
};

/// What an edge does above its last point.
enum class Beyond {
  /// Adiabatic melting: I^2 t stays that of the last point. An upper bound for the slowest edge from any point (heat
  /// losses only make a curve steeper than -2); for the fastest edge it is used only from points of 1 s or shorter,
  /// where
  /// melting is nearly adiabatic, otherwise the fastest time there is 0 (not known, may open at once).
  constant_let_through,
  /// A mechanism or a timer: the time stays that of the last point.
  constant_time,
};

/// The band of an opener. Each edge is a chord in log-log between its points, never rising with current; two points of
/// the same multiple are a vertical step. Real curves are convex in log-log, so a chord of the slowest edge errs on the
/// slow side. Opening time means total operating time: melting or releasing plus arcing, as the gates are written.
struct OpenerCurve {
  Ampere rated;
  std::vector<EdgePoint> fastest;  // multiples ascending, times not ascending; empty: nothing known, may open at once
  std::vector<EdgePoint> slowest;  // the same; empty: never surely opens
  double carries_multiple = 1;     // at or below this (and below the first fastest point) it carries for ever
  Beyond beyond = Beyond::constant_let_through;
  double derating_per_k = 0;  // share of the rating lost per kelvin of ambient above `reference`
  Celsius reference{25};      // degC, ambient at which the points hold
};

/// Generic kinds with a band from published operating-time limits.
enum class OpenerKind {
  blade,             // ISO 8820-3 type C and F, 1..40 A
  high_power_blade,  // ISO 8820-3 type E / SAE J1888, 20..80 A
  bolt_in,           // ISO 8820-5 type SF51 and strips, 100..500 A
  cartridge_gg,      // IEC 60269-1 class gG, 2..500 A
  miniature_ul,      // UL 248-14 glass or ceramic, up to 30 A; its fastest edge is unknown above 110 %
  miniature_fast,    // IEC 60127-2 5x20 quick acting F, up to 10 A
  breaker_b,         // IEC 60898-1 thermal-magnetic, magnetic trip 3..5 x (AC), see generic_curve
  breaker_c,         // 5..10 x (AC)
  breaker_d,         // 10..20 x (AC)
};

/// One published gate: at `percent` of rated the opening time lies in min_s..max_s; an absent bound is no bound.
struct Gate {
  double percent;
  std::optional<double> min_s;
  std::optional<double> max_s;
};

/// The published gates behind a kind, at `rated` where the standard's limits depend on it. Sources beside the numbers
/// in fuse_gates.cpp.
std::vector<Gate> published_gates(OpenerKind kind, Ampere rated);

/// The generic band of a kind. Breakers: upper magnetic limit times 1.5 for direct current (common practice, no
/// source). Ambient rule (common practice, no source): fuses lose 0.2 % of their rating per kelvin above 25 degC,
/// breakers 0.5 % above 30 degC.
OpenerCurve generic_curve(OpenerKind kind, Ampere rated);

/// An electronic limit or battery-management trip of definite time: never below `trips_above`, at `soonest` or later
/// and at `latest` or sooner above it. `tolerance` is the share by which the true threshold may differ either way.
OpenerCurve definite_time(Ampere trips_above, Second soonest, Second latest, double tolerance = 0);

/// A point as a user gives it: a current as multiple of rated, and the band there.
struct UserPoint {
  double multiple = 0;
  std::optional<double> fastest_s;  // absent: not known at this point
  std::optional<double> slowest_s;
};

/// The band of user points, or a sentence that says what is wrong with them. Points must ascend strictly in current;
/// times must be positive, finite, not ascending; fastest <= slowest in each point and in between; at least one slowest
/// must be given. Below the first point the fastest time is that of the first point down to rated (all that is known).
std::variant<OpenerCurve, std::string> user_curve(Ampere rated, const std::vector<UserPoint>& points);

/// What is wrong with a curve, if anything: the checks of `user_curve` on both edges.
std::optional<std::string> curve_fault(const OpenerCurve&);

/// Latest opening at `current`; infinite below the lowest current that must open it.
Second slowest(const OpenerCurve&, Ampere current);

/// Earliest opening at `current`; infinite where it carries for ever, 0 where nothing is known.
Second fastest(const OpenerCurve&, Ampere current);

/// Smallest current at and above which the slowest edge opens within `time`; std::nullopt when none does.
std::optional<Ampere> surely_opens_within(const OpenerCurve&, Second time);

/// Smallest current that surely opens it at all; std::nullopt when none does.
std::optional<Ampere> surely_opens(const OpenerCurve&);

/// I^2 t in A2s at the last point of each edge, the nearest to adiabatic melting that the band knows: `least` for
/// ageing and selectivity, `most` for what a wire must stand. std::nullopt for openers of constant time and for an
/// absent edge.
struct LetThrough {
  std::optional<double> least_a2s;
  std::optional<double> most_a2s;
};
LetThrough melting_let_through(const OpenerCurve&);

/// The same band at another ambient: rated * (1 - derating_per_k * (ambient - reference)), not below half and not above
/// 1.2 times. Use the hottest ambient for "does it carry the duty", the coldest for "does it open in time".
OpenerCurve at_ambient(const OpenerCurve&, Celsius ambient);

}  // namespace loomproof
