// One situation and what the network settles to in it.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/index.h"
#include "model/loom.h"
#include "solve/circuit.h"

namespace loomproof {

enum class Charge : std::uint8_t { full, nominal, empty };

/// A switch state, a pack charge and a duty point.
struct Situation {
  std::vector<std::int8_t> positions;  // by part; 0 for parts that are not operated
  Charge charge = Charge::full;
  std::optional<DutyIndex> duty;  // none: vehicle at rest
};

/// What is on and closed: enough to solve the network again, and where latching circuits remember.
struct LogicState {
  std::vector<std::uint8_t> contact_closed, coil_on, input_on, output_on, source_on, converter_on;
  bool operator==(const LogicState&) const = default;
};

struct OperatingPoint {
  Situation situation;
  LogicState logic;
  std::vector<double> node_v;          // by node, against the 0 V of its piece
  std::vector<int> piece;              // by node: nodes of one piece have a voltage between them, others have none
  std::vector<double> source_a;        // by source, out of pos
  std::vector<double> load_a;          // by load, pos to neg
  std::vector<double> converter_in_a;  // by converter
  std::vector<double> converter_out_a;
  std::vector<double> diode_a;
  double residual_a = 0;  // largest Kirchhoff residual of any node
  std::string trouble;    // why this point is not to be relied on: chatter, no convergence; empty = settled
};

/// Whether a duty's current flows from the lead of a pair to the other: the first pair of that lead whose ends closed
/// contacts join, by the pieces of the point.
bool takes_current(const Circuit&, const OperatingPoint&, std::size_t pair);

/// A lead of a duty's channel (a motor phase) that ends at open contacts: what drives a motor stops then.
std::optional<TerminalIndex> parted_lead(const Circuit&, const OperatingPoint&, const ChannelCurrent&);

/// Voltage between two terminals; nullopt when no conductor ties them to one another.
std::optional<Volt> voltage(const Circuit&, const OperatingPoint&, TerminalIndex a, TerminalIndex b);

/// Current in a wire from its `from` to its `to`.
Ampere wire_current(const Circuit&, const OperatingPoint&, WireIndex);

/// Current through a two-terminal branch, a to b; not for sources, loads, converters and diodes (see the point's
/// lists).
double branch_current_a(const Circuit&, const OperatingPoint&, const Branch&);

}  // namespace loomproof
