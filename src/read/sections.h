// The sections of a loom's file. Each reader fills its table of the loom; names are found through one index.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "model/loom.h"
#include "read/faults.h"
#include "read/tree.h"

namespace loomproof {

/// Names already read, and how to look them up with a fault that names the nearest one.
class Names {
 public:
  Names(Loom& loom, Faults& faults) : loom_(loom), faults_(faults) {}

  void add_part(PartIndex part);
  void add_terminal(TerminalIndex terminal);
  void add_bundle(BundleIndex bundle);
  void add_duty(DutyIndex point);

  /// A part whose kind or map was not usable: references to it are no further faults.
  void add_broken_part(std::string_view name);
  bool is_broken(std::string_view part) const;

  std::optional<PartIndex> part(std::string_view name, Place at);
  std::optional<BundleIndex> bundle(View node);
  std::optional<DutyIndex> duty(View node);
  /// `part.terminal`, or a bare part whose every name is a terminal; makes the terminal where the kind has it only on
  /// mention.
  std::optional<TerminalIndex> terminal(View node);
  /// Positions of parts: `{key: off, brake_sw: pressed}`.
  std::vector<std::pair<PartIndex, int>> positions(View map);

 private:
  TerminalIndex make_terminal(PartIndex part, std::string_view name, bool optional);
  std::optional<TerminalIndex> mention(PartIndex part, std::string_view name, Place at);

  Loom& loom_;
  Faults& faults_;
  // Keys view the file's tree or the names kept here, both of which outlive the reading.
  std::unordered_map<std::string, PartIndex> parts_;
  std::unordered_map<std::string, bool> broken_parts_;
  std::unordered_map<std::string, BundleIndex> bundles_;
  std::unordered_map<std::string, DutyIndex> duty_;
  std::unordered_map<std::string, TerminalIndex> terminals_;
};

void read_conditions(View section, Loom& loom, Faults& faults);
void read_own_kinds(View section, Loom& loom, Faults& faults);
void read_parts(View section, Loom& loom, Names& names, Faults& faults);
void read_bundles(View section, Loom& loom, Names& names, Faults& faults);
void read_wires(View section, Loom& loom, Names& names, Faults& faults);
void read_duty(View section, Loom& loom, Names& names, Faults& faults);
void read_musts(View section, Loom& loom, Names& names, Faults& faults);
void read_waivers(View section, Loom& loom, Faults& faults);

/// A quantity of a wire, bundle or condition; nothing and a fault when the text is none.
std::optional<Placed<double>> read_quantity(View node, Dimension dimension, Faults& faults);

}  // namespace loomproof
