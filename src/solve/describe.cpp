// Situations in words.
#include "solve/describe.h"

#include <algorithm>

namespace loomproof {

std::string describe(const Loom& loom, const Situation& situation) {
  std::string out = situation.charge == Charge::full      ? "full pack"
                    : situation.charge == Charge::nominal ? "nominal pack"
                                                          : "empty pack";
  bool moved = false;
  const auto& positions = situation.positions;
  const auto is_moved = [](std::int8_t k) { return k != 0; };
  for (auto at = positions.begin(); (at = std::find_if(at, positions.end(), is_moved)) != positions.end(); ++at) {
    const auto p = static_cast<std::size_t>(at - positions.begin());
    const Part& part = loom.parts[p];
    out += ", " + part.name + " " + part.positions[positions[p]];
    moved = true;
  }
  if (!moved) out += ", every switch at rest";
  if (situation.duty) out += ", " + loom.duty[situation.duty->value].name;
  return out;
}

}  // namespace loomproof
