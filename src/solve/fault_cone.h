// Cones of influence: which switches can have a say in what is watched, and whether a fault can be seen there at all.
#pragma once

#include <cstdint>
#include <vector>

#include "solve/fault_network.h"

namespace loomproof {

/// Something of which the settled value is looked at.
struct Target {
  enum class What : std::uint8_t { output, input, coil, node } what = What::output;
  std::size_t index = 0;
};

/// The circuit cut at its stiff nodes: the poles of its supplies with everything that hangs on them by wire, fuse and
/// joint alone. What happens between two stiff nodes reaches others only through the voltage that the supply loses, so
/// the pieces between them (clusters) influence one another by coils, inputs and conditions only. The drop of the
/// supply is the approximation; a fault at a stiff node is taken to be seen everywhere.
class Cones {
 public:
  /// Of the network as it stands, with its fault in.
  explicit Cones(const FaultNetwork&);

  struct Cone {
    std::vector<char> parts;     // by part: its position has a say
    std::vector<char> clusters;  // by cluster
  };
  Cone of(const std::vector<Target>&) const;

  /// The clusters in which the fault alters something, with the switches that command them.
  Cone of_fault() const;
  /// It alters the supply itself, or lays a bridge: nothing can be left out.
  bool fault_is_everywhere() const { return everywhere_; }

 private:
  void take(const Condition&, PartIndex, Cone&, std::vector<int>& queue) const;
  void take_node(int node, Cone&, std::vector<int>& queue) const;
  void close(Cone&, std::vector<int>& queue) const;

  const FaultNetwork& network_;
  const Elements& all_;
  std::vector<int> cluster_;  // by node; -1: stiff
  int clusters_ = 0;
  std::vector<char> live_;                                               // by cluster
  std::vector<std::vector<std::size_t>> contacts_, sources_, dividers_;  // by cluster
  std::vector<int> touched_;                                             // clusters
  std::vector<std::size_t> touched_contacts_;                            // between two stiff nodes
  bool everywhere_ = false;
};

}  // namespace loomproof
