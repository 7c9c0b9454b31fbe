// The fault dictionary: what each single fault does that can be seen or metered.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "solve/fault.h"
#include "solve/operating_point.h"
#include "solve/solved.h"

namespace loomproof {

/// A reading that differs by less than this from the sound one tells nothing with a workshop meter.
inline constexpr double telling_v = 0.2;

struct FaultDictionary {
  /// Terminals on which a wire lands, one a node; read against `reference` of the same row.
  struct TestPoint {
    TerminalIndex terminal;
    TerminalIndex reference;  // the frame, or the negative of the supply of its island
  };
  struct Reading {
    std::size_t test_point = 0;
    std::optional<double> volts;  // none: no conductor joins it to its reference
  };
  struct Shown {
    std::size_t situation = 0;
    std::vector<std::size_t> lost;    // loads, coils, inputs and outputs as in `things`: on when sound, off now
    std::vector<std::size_t> gained;  // and the other way round
    std::vector<Reading> readings;    // those that differ
    std::string trouble;              // chatters
  };
  struct Entry {
    Fault fault;
    std::vector<Shown> shown;  // only situations in which anything differs; empty: a silent fault
  };
  std::vector<TestPoint> points;
  std::vector<std::string> things;  // names: lamps and other loads, coils, inputs, outputs
  std::vector<Situation> situations;
  std::vector<std::vector<Reading>> sound;  // by situation: every test point
  std::vector<std::vector<std::size_t>> sound_on;
  std::vector<Entry> entries;
};

/// In the situations that a person can bring about one move at a time: everything at rest, ready to drive, and every
/// single switch moved from either; full pack.
FaultDictionary fault_dictionary(const Solved&);

}  // namespace loomproof
