// Whether an opener opens before the wire behind it is damaged, at every current a fault can drive; whether two openers
// in series open in the right order; whether a duty wears an opener out.
#pragma once

#include <optional>
#include <vector>

#include "solve/damage_curve.h"
#include "solve/fuse_curve.h"

namespace loomproof {

/// The worst current for one opener and one wire.
struct Coordination {
  /// Largest slowest-opening time over damage time at any current up to the largest fault current. Below 1 the wire is
  /// protected; infinite when some current damages the wire and need never open the fuse (a resistive fault: the fire
  /// case). 0 when no current up to the largest damages the wire.
  double ratio = 0;
  Ampere worst;         // where `ratio` is reached; for an infinite one the largest current that need not open it
  Second opens_after;   // slowest time there
  Second damage_after;  // damage time there

  /// The smallest fault current (far end, hot wire, empty pack): what happens there.
  Second smallest_opens_after;    // infinite: need not open
  Second smallest_damage_after;   // infinite: carried for ever
  bool smallest_opens = false;    // it surely opens
  bool smallest_in_time = false;  // it surely opens, and not later than the damage

  bool protects() const { return ratio <= 1; }
};

/// Worst ratio over all currents in (asymptote of the wire, `largest_fault`], exactly for the sampled curve: between
/// the breakpoints of both curves ln(ratio) = a + b ln I - d ln(I - I0) has at most one stationary point, I = b I0 / (b
/// - d). `largest_fault` is the largest prospective current through opener and wire (source limits included);
/// `smallest_fault` the least that a bolted fault at the far end drives.
Coordination coordinate(const OpenerCurve&, const DamageCurve&, Ampere smallest_fault, Ampere largest_fault);

/// Order of two openers in series, for every current up to `largest_fault`.
struct Selectivity {
  /// Largest of downstream slowest over upstream fastest; at most 1 when only the downstream one opens.
  double ratio = 0;
  Ampere worst;
  Second downstream_opens_after;  // slowest
  Second upstream_opens_after;    // fastest
  bool selective() const { return ratio <= 1 + 1e-9; }
};
/// @note The gates of gG (10 s, 5 s, 0.1 s) leave bands too wide to show from chords alone what IEC 60269-2 grants; ask
/// `selective_by_standard` first.
Selectivity selectivity(const OpenerCurve& downstream, const OpenerCurve& upstream, Ampere largest_fault);

/// IEC 60269-2 (from memory): gG over gG, both 16 A and above, upstream at least 1.6 times the downstream rating (taken
/// on the standard ratings: 63 over 40 counts as 1.6).
bool selective_by_standard(OpenerKind downstream, Ampere downstream_rated, OpenerKind upstream, Ampere upstream_rated);

/// One stretch of a duty: a current and how long it holds.
struct DutyStretch {
  Ampere current;
  Second lasts;
};

/// How a duty loads an opener. Give the curve at the hottest ambient (`at_ambient`).
struct DutyLoad {
  double rms_a = 0;            // over the whole list, taken as repeated for ever
  double rms_share = 0;        // of the rated current: at most `continuous_share`
  double sustained_share = 0;  // largest current that holds for `sustained` or longer, as share of the rated
  /// Sum over the stretches above the rated current of duration / fastest opening time: at 1 it may open in the first
  /// pass without any cooling between them. Infinite when the fastest time is unknown.
  double opening_share = 0;
  /// The same as share of let-through: sum of I^2 t of the stretches above rated over the least melting I^2 t; only
  /// stretches shorter than `adiabatic_pulse` count. std::nullopt when the opener has no melting I^2 t.
  std::optional<double> pulse_share;
};
DutyLoad duty_load(const OpenerCurve&, const std::vector<DutyStretch>&);

/// Continuous current as share of the rated current at 25 degC: 0.75, common practice for UL 248 fuses (from memory);
/// 0.80 is the inverse of "fuse at least 125 % of the continuous load" (seen). The first is the more demanding.
inline constexpr double continuous_share = 0.75;
inline constexpr double continuous_share_usual = 0.80;
inline constexpr Second sustained{600};
inline constexpr Second adiabatic_pulse{1};

/// Largest share of the melting I^2 t that a pulse may have to be survived `pulses` times: 48 % for 100, 38 % for 1000,
/// 29 % for 10,000, 22 % for 100,000 (common practice, no source; figures from memory), straight in ln(pulses), not
/// above 48 %, and 15 % beyond a million.
double pulse_share_allowed(double pulses);

}  // namespace loomproof
