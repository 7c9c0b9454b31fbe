// Situations in words.
#include "solve/describe.h"

namespace loomproof {

std::string describe(const Loom& loom, const Situation& situation) {
  std::string out = situation.charge == Charge::full      ? "full pack"
                    : situation.charge == Charge::nominal ? "nominal pack"
                                                          : "empty pack";
  bool moved = false;
  for (std::size_t p = 0; p < situation.positions.size(); ++p) {
    if (situation.positions[p] == 0) continue;
    const Part& part = loom.parts[p];
    out += ", " + part.name + " " + part.positions[situation.positions[p]];
    moved = true;
  }
  if (!moved) out += ", every switch at rest";
  if (situation.duty) out += ", " + loom.duty[situation.duty->value].name;
  return out;
}

}  // namespace loomproof
