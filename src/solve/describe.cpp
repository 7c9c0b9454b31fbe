// Situations in words.
#include "solve/describe.h"

#include <cstdint>
#include <cstring>

namespace loomproof {
namespace {

// Of thousands of parts a handful are switches, and every wire has its situation in words: eight parts at a time.
std::size_t next_moved(const std::vector<std::int8_t>& positions, std::size_t from) {
  while (from < positions.size() && positions[from] == 0) {
    std::uint64_t eight = 1;
    if (from + 8 <= positions.size()) std::memcpy(&eight, positions.data() + from, 8);
    from += eight == 0 ? 8 : 1;
  }
  return from;
}

}  // namespace

std::string describe(const Loom& loom, const Situation& situation) {
  std::string out = situation.charge == Charge::full      ? "full pack"
                    : situation.charge == Charge::nominal ? "nominal pack"
                                                          : "empty pack";
  bool moved = false;
  const auto& positions = situation.positions;
  for (std::size_t p = next_moved(positions, 0); p < positions.size(); p = next_moved(positions, p + 1)) {
    out += ", " + loom.parts[p].name + " " + loom.parts[p].positions[positions[p]];
    moved = true;
  }
  if (!moved) out += ", every switch at rest";
  if (situation.duty) out += ", " + loom.duty[situation.duty->value].name;
  return out;
}

}  // namespace loomproof
