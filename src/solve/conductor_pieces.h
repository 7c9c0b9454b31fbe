// What wires, fuses and closed contacts join, without any resistance worth the name between.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "solve/operating_point.h"

namespace loomproof {

/// Pieces of the circuit by conductors alone (see is_conductor), for one state of the contacts after another. A state
/// whose contacts stand in an island as they stood in the last one asked for costs a comparison.
class ConductorPieces {
 public:
  /// @param diodes_conduct  whether a diode counts as a way, in both directions
  ConductorPieces(const Circuit&, bool diodes_conduct);

  /// Whether a way of nothing but conductors leads from node a to node b.
  bool joined(const LogicState&, int a, int b);

 private:
  struct Gate {
    std::size_t contact = 0;
    int a = 0;  // clusters
    int b = 0;
  };
  struct IslandState {
    std::vector<Gate> gates;
    std::vector<std::uint8_t> closed;  // by gate, when last looked at
    int first_cluster = 0;
    int clusters = 0;
    bool known = false;
  };

  const Circuit& circuit_;
  std::vector<int> cluster_;  // by node: what conducts in every state joins; numbered island by island
  std::vector<int> up_;       // by cluster
  std::vector<IslandState> islands_;
};

/// Whether conductors alone lead from both poles of a consumer to poles of sources or converter outputs: what a
/// resistor feeds (precharge) has voltage, but does not run.
bool is_fed(ConductorPieces&, const Circuit&, const LogicState&, TerminalIndex pos, TerminalIndex neg);

}  // namespace loomproof
