// Brakes are found by what a single move of a switch does.
#include "solve/brake_lamps.h"

#include <algorithm>

#include "solve/by_state.h"

namespace loomproof {
namespace {

struct Drive {
  std::size_t torque = 0, brake = 0;
};

std::vector<Drive> drives_of(const Elements& all) {
  std::vector<Drive> out;
  for (std::size_t o = 0; o < all.outputs.size(); ++o) {
    if (all.outputs[o].name != "torque") continue;
    if (const auto brake = find_named(all.inputs, all.outputs[o].part, "brake")) out.push_back({o, *brake});
  }
  return out;
}

}  // namespace

std::set<std::size_t> lit_by(const Loom& loom, const BrakeView& off, const BrakeView& on) {
  std::set<std::size_t> out;
  for (std::size_t l = 0; l < loom.elements.loads.size(); ++l) {
    if (loom.elements.loads[l].light && off.shines[l] == 0 && on.shines[l] != 0) out.insert(l);
  }
  return out;
}

std::map<Brake, std::set<std::size_t>> find_brakes(const Loom& loom, std::span<const BrakeView> views) {
  ByState<BrakeView> by_state;
  for (const BrakeView& v : views) by_state.add(*v.situation, v);
  by_state.close();
  std::map<Brake, std::set<std::size_t>> out;
  const std::vector<Drive> drives = drives_of(loom.elements);
  std::vector<std::int8_t> moved;
  for (const BrakeView& off : views) {
    const auto drive =
        std::find_if(drives.begin(), drives.end(), [&](const Drive& d) { return off.logic->output_on[d.torque] != 0; });
    if (drive == drives.end()) continue;
    for (std::size_t p = 0; p < loom.parts.size(); ++p) {
      if (off.situation->positions[p] != 0) continue;
      for (std::size_t k = 1; k < loom.parts[p].positions.size(); ++k) {
        moved = off.situation->positions;
        moved[p] = static_cast<std::int8_t>(k);
        const BrakeView* const on = by_state.at(off.situation->charge, moved);
        if (on == nullptr) continue;
        const LogicState& then = *on->logic;
        const bool brakes = std::any_of(drives.begin(), drives.end(), [&](const Drive& d) {
          return off.logic->output_on[d.torque] != 0 && then.output_on[d.torque] == 0 && then.input_on[d.brake] != 0;
        });
        if (brakes) out[{PartIndex{p}, static_cast<int>(k)}].merge(lit_by(loom, off, *on));
      }
    }
  }
  return out;
}

std::vector<std::size_t> lamp_commands(const Loom& loom) {
  std::vector<std::size_t> out;
  const Elements& all = loom.elements;
  for (std::size_t o = 0; o < all.outputs.size(); ++o) {
    if (all.outputs[o].name != "regenerating") continue;
    const auto driver = find_named(all.contacts, all.outputs[o].part, "lamp_driver");
    if (driver && std::any_of(loom.wires.begin(), loom.wires.end(), [&](const Wire& w) {
          return w.from == all.contacts[*driver].a || w.to == all.contacts[*driver].a;
        }))
      out.push_back(o);
  }
  return out;
}

}  // namespace loomproof
