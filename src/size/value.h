// The values that are to be found, and what the stock offers for each.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "model/loom.h"
#include "model/slot.h"
#include "model/stock.h"

namespace loomproof {

enum class Objective { weight, price };

struct Option {
  std::string text;   // as it will stand in the file
  double amount = 0;  // mm2, A, ohm, W, J
  double cost = 0;    // kg of copper, or money
};

/// One text of the file that is free. Several owners share it where the file uses an alias.
struct Value {
  enum class Type { wire, fuse, contact, ohms, watts, pulse } type = Type::wire;
  std::vector<Slot> slots;      // never empty; all at one place
  std::vector<Option> options;  // ascending in amount; empty: the stock has nothing that fits
  std::string domain;           // "pvc-105 cable in stock goes up to 16 mm2": what bounds it, in words

  const Slot& slot() const { return slots.front(); }
  /// "size of 'T4'"
  std::string title() const;
};

/// A set of chosen options, by value: index into its options.
using Choice = std::vector<std::size_t>;

/// Copper, 8.96 kg/dm3 (handbook value, from memory): kg of a wire without its insulation.
double copper_kg(double size_mm2, double length_m);

/// Where the attribute stands in a loom that was read with the values filled in.
Place place_in(const Loom&, const Slot&);

/// Values for the slots, with the options that fit what the file says beside them (insulation and rated voltage of a
/// wire; curve, volts and breaking capacity of a fuse). Dearer options that are no larger are left out for wires.
/// @param loom  the file with any values filled in
std::vector<Value> values_of(const Loom& loom, const std::vector<Slot>& slots, const Stock&, Objective);

}  // namespace loomproof
