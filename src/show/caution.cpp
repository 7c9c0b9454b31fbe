// What is said to whoever reads an answer, a page or a single sheet before they touch the vehicle: the one place for
// it.
#include "show/caution.h"

#include <algorithm>

#include <fmt/format.h>

#include "rules/voltage_class.h"
#include "units/print.h"

namespace loomproof {
namespace {

std::string shock_caution(const std::optional<Volt>& full) {
  if (!full) {
    return "Shock: the file does not tell the voltage of every pack. Above 60 V DC a touch can kill (limit of ISO "
           "6469-3): work as if it were above.";
  }
  if (may_exceed_touch_limit(full)) {
    return fmt::format(
        "Shock: this vehicle has {} with the pack full. Above 60 V DC a touch can kill (limit of ISO 6469-3). Never "
        "work alone, never on live parts, one hand where you can, gloves and tools rated for the voltage.",
        show(*full));
  }
  return fmt::format(
      "Shock: {} with the pack full is below the 60 V DC limit of ISO 6469-3, which is made for dry skin. Wet hands, "
      "rings, watches and tools are not covered by it.",
      show(*full));
}

std::vector<std::string> capacitor_cautions(const Loom& loom, const std::optional<Volt>& full) {
  std::vector<std::string> out;
  for (const Capacitance& c : loom.elements.capacitances) {
    if (!c.farad) continue;
    const std::string energy = full ? show(Joule(0.5 * *c.farad * full->value * full->value)) : "a charge";
    out.push_back(fmt::format(
        "Stored energy in capacitors: {} in '{}' hold {} when charged, also with the pack parted and the key off. "
        "Measure, and wait until it is below 5 V, before you touch it.",
        show(Farad(*c.farad)), loom.part(c.part).name, energy));
  }
  if (out.empty()) {
    out.emplace_back(
        "Stored energy in capacitors: controllers and converters hold a charge, also with the pack parted and the key "
        "off. Measure, and wait until it is below 5 V, before you touch it.");
  }
  return out;
}

}  // namespace

const std::array<Caution, 4>& general_cautions() {
  static constexpr std::array<Caution, 4> all{{
      {"Stored energy.",
       "A pack cannot be switched off, and capacitors stay charged after it is disconnected: measure before touching."},
      {"Arc.", "An arc at DC does not go out by itself: never open a connector or a contact under load by hand."},
      {"Shock.", "Above 60 V DC a touch can kill (voltage class B of ISO 6469-3); a pack counts by its full charge."},
      {"Law.",
       "Local codes apply, and they may leave this work to licensed people. This answer is computed from the file "
       "alone; it approves nothing, and a vehicle that differs from its file was not looked at."},
  }};
  return all;
}

std::optional<Volt> touch_volts(const Solved& solved) {
  const auto& sources = solved.loom->elements.sources;
  const bool untold = std::any_of(sources.begin(), sources.end(),
                                  [](const Source& s) { return s.zone == Zone::traction && !s.full_v; });
  const double full_v = cable_class_v(solved);
  if (untold || full_v <= 0) return std::nullopt;
  return Volt(full_v);
}

bool may_exceed_touch_limit(const std::optional<Volt>& full) {
  return !full || full->value > class_a_v;
}

std::string sheet_caution(bool may_exceed_limit) {
  return fmt::format(
      "Pack and capacitors stay charged: measure first. A DC arc does not go out by itself. {}Local codes and "
      "licensed practice come first.",
      may_exceed_limit ? "Above 60 V DC a touch can kill. " : "");
}

std::string sheet_caution(const Solved& solved) {
  return sheet_caution(may_exceed_touch_limit(touch_volts(solved)));
}

std::vector<std::string> bench_cautions(const Solved& solved) {
  const std::optional<Volt> full = touch_volts(solved);
  std::vector<std::string> out{shock_caution(full)};
  out.emplace_back(
      "Stored energy in the pack: it cannot be switched off. A tool across its poles melts, burns and throws metal. "
      "Cover every pole that you are not working on; wear eye protection; take rings and watches off.");
  const std::vector<std::string> banks = capacitor_cautions(*solved.loom, full);
  out.insert(out.end(), banks.begin(), banks.end());
  out.emplace_back(
      "Arc: direct current does not go out by itself. Never pull a connector, a fuse or the service plug under load.");
  out.emplace_back(
      "Local codes come first, and much of this is work for a licensed person in many places. This paper is a "
      "computation from a description, no approval.");
  return out;
}

}  // namespace loomproof
