// Two quantities in one text: a peak and its time, a range, a value at another value.
#include <fmt/core.h>

#include <algorithm>
#include <utility>

#include "units/parse.h"
#include "units/quote.h"
#include "units/words.h"
#include "units/wrong.h"

namespace loomproof {
namespace {

// A value for a message: between its number and its unit any blank may stand, a line end too.
std::string on_one_line(std::string written) {
  std::replace_if(
      written.begin(), written.end(), [](char c) { return static_cast<unsigned char>(c) < ' '; }, ' ');
  return written;
}

}  // namespace

Parsed<TimedMagnitude> parse_timed(std::string_view text, Dimension expected) {
  const Halves halves = split_at_word(text, "for");
  Parsed<Magnitude> magnitude = parse_magnitude(halves.first, expected);
  if (!magnitude) return wrong<TimedMagnitude>(std::move(magnitude.error));
  TimedMagnitude timed{std::move(*magnitude.value), std::nullopt};
  if (halves.split) {
    const Parsed<Magnitude> lasts = parse_magnitude(halves.second, Dimension::time);
    if (!lasts) return wrong<TimedMagnitude>(fmt::format("after 'for': {}", lasts.error));
    if (lasts.value->value == 0)
      return wrong<TimedMagnitude>("after 'for': a time of zero; leave it out for a lasting value");
    timed.lasts = Second(lasts.value->value);
  }
  return {std::move(timed), {}};
}

Parsed<MagnitudeRange> parse_range(std::string_view text, Dimension expected) {
  const Halves halves = split_at_word(text, "to");
  if (!halves.split) {
    return wrong<MagnitudeRange>(fmt::format("{} is not a range; expected two values joined by 'to', each {}",
                                             quoted(trimmed(text)), expected_form(expected)));
  }
  Parsed<Magnitude> low = parse_magnitude(halves.first, expected);
  if (!low) return wrong<MagnitudeRange>(std::move(low.error));
  Parsed<Magnitude> high = parse_magnitude(halves.second, expected);
  if (!high) return wrong<MagnitudeRange>(std::move(high.error));
  if (low.value->value > high.value->value) {
    return wrong<MagnitudeRange>(fmt::format("{} runs downwards; write {} to {}", quoted(trimmed(text)),
                                             on_one_line(high.value->written), on_one_line(low.value->written)));
  }
  return {MagnitudeRange{std::move(*low.value), std::move(*high.value)}, {}};
}

Parsed<MagnitudeAt> parse_at(std::string_view text, Dimension expected, Dimension at) {
  const Halves halves = split_at_word(text, "at");
  Parsed<Magnitude> magnitude = parse_magnitude(halves.first, expected);
  if (!magnitude) return wrong<MagnitudeAt>(std::move(magnitude.error));
  MagnitudeAt both{std::move(*magnitude.value), std::nullopt};
  if (halves.split) {
    Parsed<Magnitude> second = parse_magnitude(halves.second, at);
    if (!second) return wrong<MagnitudeAt>(fmt::format("after 'at': {}", second.error));
    both.at = std::move(*second.value);
  }
  return {std::move(both), {}};
}

}  // namespace loomproof
