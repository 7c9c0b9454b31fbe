// Contacts that put a source across a capacitance, and what precharges it first.
#pragma once

#include <optional>
#include <vector>

#include "solve/circuit_graph.h"
#include "solve/operating_point.h"

namespace loomproof {

/// One operated contact whose closing ties a capacitance to a source with no resistor between.
struct Closing {
  std::size_t contact = 0;
  std::size_t capacitance = 0;
  std::vector<PartIndex> supplies;  // the part that is the source, or all of packs in series
  double source_v = 0;              // full charge
  /// Source and everything on the way, copper as cold as at a start, contact closed.
  double loop_ohm = 0;
  bool source_known = true;  // false: the source's resistance is not given, loop_ohm is too small
  /// Resistance of the path around the open contact through resistors; nothing when there is none.
  std::optional<double> precharge_ohm;
  std::vector<std::size_t> around;  // branches of that path
  std::vector<std::size_t> links;   // branches between packs in series
};

/// A contact counts where, in some settled point, it stands open and every other contact of the way is closed: a plug
/// pulled with the contactor dropped out behind it does not.
std::vector<Closing> closings(const Circuit&, const CircuitGraph&, const std::vector<OperatingPoint>&);

}  // namespace loomproof
