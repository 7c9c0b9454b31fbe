// Which switches are brakes, and which lights each of them switches on.
#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <set>
#include <span>
#include <vector>

#include "solve/operating_point.h"

namespace loomproof {

struct Brake {
  PartIndex part;
  int position = 0;
  friend auto operator<=>(const Brake&, const Brake&) = default;
};

/// A settled switch state without a fault and outside the duty points, as far as brakes are concerned.
struct BrakeView {
  const Situation* situation = nullptr;
  const LogicState* logic = nullptr;
  std::vector<char> shines;  // by load; anything for what is no light
};

/// A brake is a switch position that takes the torque away through the `brake` input of the controller that gave it;
/// its lights (indices of Elements::loads) are dark before and shine behind that one move.
std::map<Brake, std::set<std::size_t>> find_brakes(const Loom&, std::span<const BrakeView>);

/// Lights that are dark in the one and shine in the other.
std::set<std::size_t> lit_by(const Loom&, const BrakeView& off, const BrakeView& on);

/// Outputs `regenerating` of controllers whose lamp driver has a wire: these say that they light the brake lamp.
std::vector<std::size_t> lamp_commands(const Loom&);

/// By name among the elements of one part.
std::optional<std::size_t> find_named(const auto& list, PartIndex part, std::string_view name) {
  for (std::size_t i = 0; i < list.size(); ++i) {
    if (list[i].part == part && list[i].name == name) return i;
  }
  return std::nullopt;
}

}  // namespace loomproof
