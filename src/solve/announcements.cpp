// How a fault shows itself to whoever rides.
#include "solve/announcements.h"

#include <algorithm>

#include <fmt/format.h>

namespace loomproof {
namespace {

std::string words_of(const Loom& loom, std::size_t seen, std::uint8_t before, std::uint8_t now) {
  const Elements& all = loom.elements;
  for (const Output& o : all.outputs) {
    if (o.name != "torque") continue;
    if (seen-- == 0) return fmt::format("'{}' {} torque", loom.part(o.part).name, now == 0 ? "gives no" : "gives");
  }
  for (const Load& l : all.loads) {
    if (!l.light) continue;
    if (seen-- != 0) continue;
    const std::string name = title_of(loom, l);
    return fmt::format("'{}' {}", name,
                       now == 0       ? "stays dark"
                       : now < before ? "glows only"
                       : now == 1     ? "glows"
                                      : "is on");
  }
  return {};
}

}  // namespace

Announcements::Announcements(const Loom& loom) : loom_(loom) {
  for (const Part& p : loom.parts) at_.emplace_back(p.positions.size());
}

void Announcements::note(const BaseState& state, const std::vector<std::uint8_t>& now) {
  Sign& sign = at_[sought_.first.value][sought_.second];
  if (sign.state != nullptr) return;
  const auto differs = std::mismatch(now.begin(), now.end(), state.seen.begin());
  if (differs.first == now.end()) return;
  sign = {&state, static_cast<std::size_t>(differs.first - now.begin()), *differs.first, sign.all_noted};
}

std::string Announcements::outside(const Watch& watch) const {
  for (const auto& [part, position] : watch.when) {
    for (std::size_t k = 0; k < at_[part.value].size(); ++k) {
      const Sign& sign = at_[part.value][k];
      if (static_cast<int>(k) == position || sign.state == nullptr) continue;
      return fmt::format("{} with {}", words_of(loom_, sign.seen, sign.state->seen[sign.seen], sign.now),
                         switches(sign.state->situation.positions));
    }
  }
  return {};
}

std::string Announcements::switches(const Positions& positions) const {
  std::string out;
  for (std::size_t p = 0; p < positions.size(); ++p) {
    if (positions[p] == 0) continue;
    if (!out.empty()) out += ", ";
    out += loom_.parts[p].name + " " + loom_.parts[p].positions[positions[p]];
  }
  return out.empty() ? "every switch at rest" : out;
}

}  // namespace loomproof
