// Only the file's shape counts here: a value in the wrong place is told by the section that reads it.
#include "read/slots.h"

#include <algorithm>

#include <fmt/core.h>

#include "units/quote.h"

namespace loomproof {
namespace {

void add(bool of_wire, View owner, const std::string& attribute, View value, std::vector<Slot>& out) {
  if (!value.is_text()) return;
  out.push_back({of_wire, std::string(owner.text()), attribute, value.at(), std::string(value.text())});
}

void add_part(View name, View body, std::string_view kind, const std::string& prefix, std::vector<Slot>& out) {
  for (const Entry field : body.entries()) {
    const std::string attribute = prefix + std::string(field.key.text());
    if (field.value.is_map() && prefix.empty()) {
      add_part(name, field.value, kind, attribute + ".", out);
    } else if (is_sized_attribute(kind, attribute)) {
      add(false, name, attribute, field.value, out);
    }
  }
}

}  // namespace

std::vector<Slot> slots_of(View root) {
  std::vector<Slot> out;
  if (!root.is_map()) return out;
  if (const auto parts = root.find("parts")) {
    for (const Entry part : parts->entries()) {
      const auto is = part.value.find("is");
      if (is && is->is_text()) add_part(part.key, part.value, is->text(), "", out);
    }
  }
  if (const auto wires = root.find("wires")) {
    for (const Entry wire : wires->entries()) {
      if (const auto size = wire.value.find("size")) add(true, wire.key, "size", *size, out);
    }
  }
  std::stable_sort(out.begin(), out.end(), [](const Slot& a, const Slot& b) { return a.at < b.at; });
  return out;
}

std::vector<Slot> find_slots(std::string_view text, const ReadBounds& bounds) {
  Faults ignored;
  const auto tree = parse_tree(text, bounds, ignored);
  return tree ? slots_of(tree->root()) : std::vector<Slot>{};
}

void fault_open_slots(View root, Faults& faults) {
  const std::vector<Slot> slots = slots_of(root);
  const auto first = std::find_if(slots.begin(), slots.end(), [](const Slot& s) { return s.is_open(); });
  if (first == slots.end()) return;
  const auto open = std::count_if(first, slots.end(), [](const Slot& s) { return s.is_open(); });
  const std::string what = fmt::format("{} of {}", first->attribute, quoted(first->owner));
  faults.add(first->at,
             open == 1 ? fmt::format("{} is left as 'choose'", what)
                       : fmt::format("{} values are left as 'choose', the first is {}", open, what),
             "run `loomproof size FILE -o NEW`, which finds them");
}

}  // namespace loomproof
