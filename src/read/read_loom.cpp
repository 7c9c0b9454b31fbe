// The file as a whole: its sections in the order in which they refer to each other, whatever order they are written in.
#include <fmt/core.h>

#include <algorithm>

#include "read/expect.h"
#include "read/keys.h"
#include "read/kind_reader.h"
#include "read/read.h"
#include "read/sections.h"
#include "read/slots.h"
#include "read/text_check.h"
#include "units/print.h"
#include "units/quote.h"

namespace loomproof {
namespace {

constexpr std::string_view known_format = "1";

std::vector<std::string> split_lines(std::string_view text) {
  std::vector<std::string> out;
  while (!text.empty()) {
    const std::size_t end = text.find('\n');
    std::string_view line = text.substr(0, end);
    if (line.ends_with('\r')) line.remove_suffix(1);
    out.emplace_back(line);
    if (end == std::string_view::npos) break;
    text.remove_prefix(end + 1);
  }
  return out;
}

void read_format(std::optional<View> node, Faults& faults) {
  if (!node) {
    faults.add({1, 1}, "the file does not say its format", "start it with 'loom: 1'");
    return;
  }
  const auto text = expect_text(*node, "the format's number, 1", faults);
  if (text && *text != known_format) {
    faults.add(node->at(), fmt::format("format {} is not known", quoted(*text)), "write loom: 1");
  }
}

void read_vehicle(View node, Loom& loom, Faults& faults) {
  if (!expect_map(node, "a map such as {name: Orchard cart}", faults)) return;
  for (const Entry e : node.entries()) {
    if (e.key.text() == "name") {
      loom.vehicle = expect_text(e.value, "the vehicle's name", faults).value_or("");
      loom.vehicle_at = e.value.at();
    } else {
      unknown_key(e.key, "'vehicle'", keys::vehicle, faults);
    }
  }
}

void read_sections(View root, Loom& loom, Faults& faults) {
  for (const Entry e : root.entries()) {
    if (std::find(keys::file.begin(), keys::file.end(), e.key.text()) == keys::file.end()) {
      unknown_key(e.key, "a loom's file", keys::file, faults);
    }
  }
  read_format(root.find("loom"), faults);
  Names names(loom, faults);
  if (const auto node = root.find("vehicle")) read_vehicle(*node, loom, faults);
  if (const auto node = root.find("conditions")) read_conditions(*node, loom, faults);
  if (const auto node = root.find("kinds")) read_own_kinds(*node, loom, faults);
  const auto parts = root.find("parts");
  const auto wires = root.find("wires");
  if (!parts) faults.add({1, 1}, "the file has no 'parts'", "list every part under 'parts:'");
  if (!wires) faults.add({1, 1}, "the file has no 'wires'", "list every wire under 'wires:'");
  if (parts) read_parts(*parts, loom, names, faults);
  if (const auto node = root.find("bundles")) read_bundles(*node, loom, names, faults);
  // Without parts every reference would be a fault of its own; the missing section says it all.
  if (parts) {
    if (wires) read_wires(*wires, loom, names, faults);
    if (const auto node = root.find("duty")) read_duty(*node, loom, names, faults);
    if (const auto node = root.find("must")) read_musts(*node, loom, names, faults);
  }
  if (const auto node = root.find("waive")) read_waivers(*node, loom, faults);
}

std::string volts_of(const Loom& loom, const Input& input, const Datum& datum) {
  const Scalar* written = datum.attribute.empty() ? nullptr : loom.part(input.part).find(datum.attribute);
  const auto* magnitude = written ? std::get_if<Magnitude>(&written->value) : nullptr;
  return magnitude ? magnitude->written : show(Volt(*datum));
}

// A throttle's own range runs upwards, and no input is known that pulls the more the lower its voltage is: with the
// ends exchanged the grip at rest would count as past full.
void fault_falling_throttles(const Loom& loom, Faults& faults) {
  for (const Input& input : loom.elements.inputs) {
    if (!input.analogue || !input.zero_v || !input.full_v || *input.zero_v < *input.full_v) continue;
    const Part& part = loom.part(input.part);
    faults.add(input.full_v.at ? input.full_v.at : part.at,
               fmt::format("{} is at full throttle from {} and begins at {}", quoted(part.name),
                           volts_of(loom, input, input.full_v), volts_of(loom, input, input.zero_v)),
               "give 'zero' as the lower and 'full' as the higher voltage; a throttle whose voltage falls as it opens "
               "is not known here");
  }
}

}  // namespace

void read_conditions(View section, Loom& loom, Faults& faults) {
  if (!expect_map(section, "a map such as {ambient: 40 degC, coldest: -10 degC}", faults, true)) return;
  for (const Entry e : section.entries()) {
    const bool ambient = e.key.text() == "ambient";
    if (!ambient && e.key.text() != "coldest") {
      unknown_key(e.key, "'conditions'", keys::conditions, faults);
      continue;
    }
    auto read = read_quantity(e.value, Dimension::temperature, faults);
    if (!read) continue;
    (ambient ? loom.ambient : loom.coldest) = Placed<Celsius>{Celsius(read->value), read->at, std::move(read->written)};
  }
  if (loom.ambient && loom.coldest && loom.coldest->value > loom.ambient->value) {
    faults.add(loom.coldest->at, "the coldest air is warmer than the hottest", "exchange 'coldest' and 'ambient'");
  }
}

ReadResult read_loom(std::string_view text, std::string file, const ReadBounds& bounds) {
  ReadResult result;
  Faults faults;
  const auto tree = parse_tree(text, bounds, faults);
  // A text past its bounds is not worth a copy; all others are shown line by line beside their faults.
  if (text.size() <= bounds.bytes) result.lines = split_lines(without_mark(text));
  Loom loom;
  loom.file = std::move(file);
  if (tree) {
    if (tree->root().is_map()) {
      read_sections(tree->root(), loom, faults);
      fault_open_slots(tree->root(), faults);
    } else {
      faults.add(tree->root().at(), fmt::format("the file is {}, not a map of sections", tree->root().shape_name()),
                 "start it with 'loom: 1'");
    }
  }
  if (faults.empty()) {
    for (InstantiateFault& fault : instantiate(loom)) {
      faults.add(fault.at ? fault.at : Place{1, 1}, std::move(fault.what));
    }
    fault_falling_throttles(loom, faults);
  }
  if (faults.empty()) {
    loom.lines = result.lines;
    result.loom = std::move(loom);
  } else {
    result.faults = std::move(faults).sorted(bounds.faults);
  }
  return result;
}

KindResult read_kind(std::string_view yaml_text) {
  KindResult result;
  Faults faults;
  const ReadBounds bounds;
  if (const auto tree = parse_tree(yaml_text, bounds, faults)) {
    Kind kind = read_kind_tree(tree->root(), "", tree->root().at(), faults);
    if (kind.name.empty()) faults.add({1, 1}, "the entry does not say its kind", "write kind: and a name");
    if (tree->root().is_map()) check_kind(kind, faults);
    if (faults.empty()) result.kind = std::move(kind);
  }
  result.faults = std::move(faults).sorted(bounds.faults);
  return result;
}

}  // namespace loomproof
