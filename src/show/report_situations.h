// What is live in which situation, packed so that a page can hold every situation that was computed, and nothing that
// was not.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "solve/solved.h"

namespace loomproof::report {

inline constexpr double dead_v = 1.0;  ///< as the rules have it

/// One thing that a reader can set: a part that is operated, the pack's charge, the duty.
struct Knob {
  std::string name;
  std::vector<std::string> values;  // the first is at rest
};

/// A value as a function of the knobs that it depends on: `table` has one character for each combination of these, the
/// last knob running fastest; '.' where no situation has that combination, else '0' + index into `labels`.
struct Cone {
  std::vector<std::size_t> knobs;
  std::string table;
  bool operator==(const Cone&) const = default;
};

struct Shown {
  std::vector<std::string> labels;  // what each value says; the first is "dead", "no current" or "no"
  Cone cone;
  bool operator==(const Shown&) const = default;
};

struct NamedShown {
  std::string name;
  Shown shown;
};

struct Explorer {
  std::vector<Knob> knobs;
  Cone settled;                    // labels: 0 not possible or not computed, 1 settled, 2 does not settle
  std::vector<Shown> wire_volts;   // by wire, against the negative pole of a source tied to it
  std::vector<Shown> wire_amps;    // by wire
  std::vector<NamedShown> states;  // outputs of controllers, contacts that a coil or a controller moves
};

/// The function of all knobs that `rows` give (by row: a value for every knob, as mixed-radix number), with the knobs
/// left out that do not matter. Exact on every row given.
/// @param sizes  of the knobs
Cone cone_of(const std::vector<std::size_t>& sizes, const std::vector<std::size_t>& rows,
             const std::vector<std::uint8_t>& values);

/// std::nullopt when the knobs have more combinations than a page should hold.
std::optional<Explorer> explorer_of(const Solved&);

}  // namespace loomproof::report
