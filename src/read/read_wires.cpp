// `wires:` and `bundles:`. What a wire does not say is left open here and becomes an undecided verdict later.
#include <fmt/core.h>

#include <algorithm>

#include "read/colour.h"
#include "read/expect.h"
#include "read/keys.h"
#include "read/sections.h"
#include "read/slots.h"
#include "units/quote.h"

namespace loomproof {
namespace {

template <class T>
std::optional<Placed<T>> read_positive(View node, Dimension dimension, Faults& faults) {
  auto read = read_quantity(node, dimension, faults);
  if (!read) return std::nullopt;
  if (!(read->value > 0)) {
    faults.add(node.at(), fmt::format("{} is not above zero", quoted(read->written)));
    return std::nullopt;
  }
  return Placed<T>{T(read->value), read->at, std::move(read->written)};
}

std::optional<Placed<std::string>> read_colour(View node, Faults& faults) {
  const auto text = expect_text(node, "a colour code such as RD", faults);
  if (!text) return std::nullopt;
  if (is_colour_code(*text)) return Placed<std::string>{std::string(*text), node.at(), std::string(*text)};
  const std::string code = colour_code_for(*text);
  faults.add(node.at(), fmt::format("{} is no colour code of IEC 60757", quoted(*text)),
             code.empty() ? "write BK, BN, RD, OG, YE, GN, BU, VT, GY, WH, PK, GD, TQ or SR, or two joined such as GNYE"
                          : fmt::format("did you mean {}?", quoted(code)));
  return std::nullopt;
}

std::optional<Placed<std::string>> read_insulation(View node, Faults& faults) {
  const auto text = expect_text(node, "an insulation such as pvc-105", faults);
  if (!text) return std::nullopt;
  if (text->empty()) {
    faults.add(node.at(), "an empty insulation", "leave it out when it is not known");
    return std::nullopt;
  }
  return Placed<std::string>{std::string(*text), node.at(), std::string(*text)};
}

void read_wire(const Entry& e, Loom& loom, Names& names, Faults& faults) {
  Wire wire;
  wire.name = e.key.text();
  wire.at = e.key.at();
  std::optional<TerminalIndex> from;
  std::optional<TerminalIndex> to;
  bool has_from = false;
  bool has_to = false;
  for (const Entry field : e.value.entries()) {
    const std::string_view k = field.key.text();
    const View value = field.value;
    if (k == "from") {
      has_from = true;
      wire.from_at = value.at();
      from = names.terminal(value);
    } else if (k == "to") {
      has_to = true;
      wire.to_at = value.at();
      to = names.terminal(value);
    } else if (k == "size") {
      if (is_left_open(value)) continue;  // told once for the whole file
      wire.size = read_positive<SquareMillimetre>(value, Dimension::area, faults);
    } else if (k == "length") {
      wire.length = read_positive<Metre>(value, Dimension::length, faults);
    } else if (k == "insulation") {
      wire.insulation = read_insulation(value, faults);
    } else if (k == "colour") {
      wire.colour = read_colour(value, faults);
    } else if (k == "volts") {
      wire.volts = read_positive<Volt>(value, Dimension::voltage, faults);
    } else if (k == "sheathed") {
      wire.sheathed = expect_flag(value, faults).value_or(false);
    } else if (k == "in") {
      for (const View item : expect_texts(value, "a bundle or a list of bundles", faults)) {
        const auto bundle = names.bundle(item);
        if (!bundle) continue;
        if (std::find(wire.bundles.begin(), wire.bundles.end(), *bundle) != wire.bundles.end()) {
          faults.add(item.at(), fmt::format("bundle {} stands here twice", quoted(item.text())));
          continue;
        }
        wire.bundles.push_back(*bundle);
      }
    } else {
      unknown_key(field.key, "a wire", keys::wire, faults);
    }
  }
  if (!has_from)
    faults.add(wire.at, fmt::format("wire {} has no 'from'", quoted(wire.name)), "write from: part.terminal");
  if (!has_to) faults.add(wire.at, fmt::format("wire {} has no 'to'", quoted(wire.name)), "write to: part.terminal");
  if (!from || !to) return;
  if (*from == *to) {
    faults.add(wire.to_at, fmt::format("wire {} ends where it starts", quoted(wire.name)), "name another terminal");
  }
  wire.from = *from;
  wire.to = *to;
  loom.wires.push_back(std::move(wire));
}

}  // namespace

void read_bundles(View section, Loom& loom, Names& names, Faults& faults) {
  if (!expect_map(section, "bundles by name", faults, true)) return;
  for (const Entry e : section.entries()) {
    if (!check_name(e.key, "a bundle", faults)) continue;
    Bundle bundle;
    bundle.name = e.key.text();
    bundle.at = e.key.at();
    if (expect_map(e.value, "a bundle such as {ambient: 60 degC, sleeve: braided}", faults, true)) {
      for (const Entry field : e.value.entries()) {
        if (field.key.text() == "ambient") {
          if (auto read = read_quantity(field.value, Dimension::temperature, faults)) {
            bundle.ambient = Placed<Celsius>{Celsius(read->value), read->at, std::move(read->written)};
          }
        } else if (field.key.text() == "sleeve") {
          if (const auto which = expect_word(field.value, "a sleeve", keys::sleeves, faults)) {
            const std::string sleeve(keys::sleeves[*which]);
            bundle.sleeve = Placed<std::string>{sleeve, field.value.at(), sleeve};
          }
        } else {
          unknown_key(field.key, "a bundle", keys::bundle, faults);
        }
      }
    }
    loom.bundles.push_back(std::move(bundle));
    names.add_bundle(BundleIndex{loom.bundles.size() - 1});
  }
}

void read_wires(View section, Loom& loom, Names& names, Faults& faults) {
  if (!expect_map(section, "wires by name", faults)) return;
  if (section.entries().empty()) faults.add(section.at(), "there are no wires");
  for (const Entry e : section.entries()) {
    if (!check_name(e.key, "a wire", faults)) continue;
    if (!expect_map(e.value, "a wire such as {from: pack.pos, to: fuse.a, size: 35 mm2, length: 0.4 m}", faults))
      continue;
    read_wire(e, loom, names, faults);
  }
}

}  // namespace loomproof
