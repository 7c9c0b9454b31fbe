// Cable insulation by its trade name: what it bears and how it conducts, stores and radiates heat.
#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "units/quantity.h"

namespace loomproof {

/// One row of the insulation table. `source` says where every figure of the row comes from.
struct Insulation {
  std::string_view name;
  Celsius limit;                ///< conductor temperature borne for the cable's whole life
  Celsius overload_limit;       ///< borne for hours, not for life: limit + 25 K, the 240 h ageing of ISO 6722-1
  Celsius short_circuit_limit;  ///< final temperature of a short circuit of 5 s at most
  double conductivity_w_per_m_k = 0;
  double volumetric_heat_j_per_m3_k = 0;
  double emissivity = 0;
  std::string_view source;
};

/// Vehicle cable without a stated rating is taken for 60 V d.c. cable (ISO 6722-1, SAE J1127/J1128).
inline constexpr Volt assumed_cable_volts{60};

/// What a wire without stated insulation is taken for: the row that bears least.
inline constexpr std::string_view assumed_insulation = "pvc-70";

/// The row of that name, letter by letter; nullopt for an unknown name.
std::optional<Insulation> find_insulation(std::string_view name);

/// All rows, coolest family first: for lists and for "did you mean".
std::span<const Insulation> insulations();

}  // namespace loomproof
