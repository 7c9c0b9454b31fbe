// A first complete loom from the few numbers that a builder knows, its sizes left as `choose`.
#pragma once

#include <optional>
#include <string>

namespace loomproof {

struct FirstLoom {
  std::string name = "First loom";
  std::string chemistry = "lfp";  // lfp, nmc, nca or lto
  int series = 16;                // 4 to 32 cells
  int parallel = 1;
  double battery_a = 100;                // battery current limit of the controller
  double phase_a = 250;                  // its phase current limit
  double regen_a = 0;                    // current that it gives back
  double charger_a = 10;                 // of the charger
  std::optional<double> capacitance_uf;  // of the controller
  std::optional<double> bleed_kohm;      // across the controller's bus; it empties the capacitance
  std::optional<double> cell_mohm;       // resistance of one cell
  std::optional<double> cell_ah;         // capacity of one cell
  std::optional<double> continuous_a;    // what the whole pack gives for ever
  std::optional<double> charge_a;        // what the whole pack may be charged with
  double ambient_c = 40, coldest_c = -10;
  double pack_to_controller_m = 0.6, controller_to_motor_m = 0.5, to_front_m = 1.2, to_tail_m = 1.4;
  bool headlamp = true, tail = true, brake_lamp = true, indicators = true, horn = true, display = true;
  bool charger = true, bms = true;
  bool filament = false;  // lamps with filaments instead of light-emitting diodes

  double full_v() const;
  double empty_v() const;
};

/// What makes the numbers unusable, as a sentence; empty when nothing does.
std::string trouble_with(const FirstLoom&);

/// The YAML text. Every datum that was not given is left out and marked `# UNKNOWN`: `check` stays undecided there.
std::string first_loom(const FirstLoom&);

}  // namespace loomproof
