// What every pack gives and takes in every duty point, and how the parts on its bus hang together.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "solve/circuit.h"
#include "solve/circuit_graph.h"
#include "solve/operating_point.h"

namespace loomproof {

/// A battery as a whole (all sections of the part): its outer poles and what the file says of it.
struct PackPoles {
  PartIndex part;
  std::size_t source = 0;  // its first section: numbers of the part stand there
  int pos = 0;             // nodes
  int neg = 0;
  double full_v = 0;  // 0: not given
  double empty_v = 0;
  double ohm = 0;
  bool ohm_known = true;
};

/// Every source of the traction zone that can be charged.
std::vector<PackPoles> packs_of(const Circuit&);

/// One stretch of a duty as a pack sees it: the largest current over all switch states, out of it and into it.
struct PackStretch {
  std::string when;
  double out_a = 0;
  double in_a = 0;
  std::optional<Second> lasts;  // none: for ever
};

/// One ride, or one state held for ever.
struct PackDuty {
  std::string name;
  std::vector<PackStretch> stretches;
};

/// Every ride, every duty point outside rides, and the vehicle without duty.
std::vector<PackDuty> pack_duties(const Circuit&, const std::vector<OperatingPoint>&, const PackPoles&);

/// Whether conductors (no diode) tie the two nodes with every contact closed; computed once for all nodes.
std::vector<int> joined_without_diodes(const Circuit&, const CircuitGraph&);

}  // namespace loomproof
