// Assumptions, each said once: those that differ only in the name stand in one line.
#pragma once

#include <string>
#include <vector>

#include "model/loom.h"
#include "rules/ledger.h"

namespace loomproof {

/// One sentence for one or many subjects: "insulation taken as pvc-70 for 3 wires: T4, T5, T6".
struct AssumptionLine {
  std::string text;
  std::vector<std::string> names;  // empty when the sentence names nobody
};

/// In the order in which they were made.
std::vector<AssumptionLine> merged(const Loom&, const std::vector<Assumption>&);

}  // namespace loomproof
