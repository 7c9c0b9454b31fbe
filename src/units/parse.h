// Text to quantities. A wrong or missing unit is an error that says what was expected, never a guess.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "units/quantity.h"

namespace loomproof {

/// Either a value or one line (small letter, no full stop) that says what is wrong and which form is expected.
template <class T>
struct Parsed {
  std::optional<T> value;
  std::string error;

  explicit operator bool() const { return value.has_value(); }
};

/// One number with its dimension. `value` is in the base unit of quantity.h (A, V, ohm, F, W, J, s, m, mm2, degC, Ah,
/// A2s, or a plain ratio/count). `written` is the text as the user wrote it, trimmed.
struct Magnitude {
  double value = 0;
  Dimension dimension = Dimension::ratio;
  std::string written;
};

/// `300 A for 10 s`
struct TimedMagnitude {
  Magnitude magnitude;
  std::optional<Second> lasts;
};

/// `36 V to 75 V`, low <= high
struct MagnitudeRange {
  Magnitude low;
  Magnitude high;
};

/// `300 A at 80 V`
struct MagnitudeAt {
  Magnitude magnitude;
  std::optional<Magnitude> at;
};

/// Parses `120 A`, `1.2 mohm`, `2200 uF`, `35 mm2`, `6 AWG`, `2/0 AWG`, `12 in`, `105 degC`, `221 degF`, `8 min`,
/// `90 %`, `16` (count, ratio). The space before the unit may be left out. SI prefixes p n u m k M where the trade
/// uses them. Rejected with an error: bare number where a unit is due, a unit of another dimension, NaN, infinity,
/// hex, trailing text, a negative value where the dimension allows none (length, area, resistance, capacitance,
/// time, charge, energy, let-through, count); a non-integer or negative count; a temperature below -273.15 degC.
/// A negative current, voltage or power is accepted; whether it makes sense is the caller's to say.
Parsed<Magnitude> parse_magnitude(std::string_view text, Dimension expected);

/// A magnitude, optionally followed by `for <time>`.
Parsed<TimedMagnitude> parse_timed(std::string_view text, Dimension expected);

/// `<magnitude> to <magnitude>`; a reversed range is an error.
Parsed<MagnitudeRange> parse_range(std::string_view text, Dimension expected);

/// A magnitude, optionally followed by `at <magnitude of second dimension>`.
Parsed<MagnitudeAt> parse_at(std::string_view text, Dimension expected, Dimension at);

/// The forms to show in an error: "a current such as 120 A", "a length such as 0.4 m or 12 in".
std::string_view expected_form(Dimension);

}  // namespace loomproof
