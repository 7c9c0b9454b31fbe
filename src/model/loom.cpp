// Look-ups by name over the loom's tables.
#include "model/loom.h"

#include <algorithm>

namespace loomproof {

const Scalar* Part::find(std::string_view attribute) const {
  const auto found = attributes.find(attribute);
  return found == attributes.end() ? nullptr : &found->second;
}

std::optional<double> Part::number(std::string_view attribute) const {
  const Scalar* scalar = find(attribute);
  const auto* magnitude = scalar ? std::get_if<Magnitude>(&scalar->value) : nullptr;
  return magnitude ? std::optional(magnitude->value) : std::nullopt;
}

std::optional<std::string> Part::text(std::string_view attribute) const {
  const Scalar* scalar = find(attribute);
  const auto* text = scalar ? std::get_if<std::string>(&scalar->value) : nullptr;
  return text ? std::optional(*text) : std::nullopt;
}

std::optional<bool> Part::flag(std::string_view attribute) const {
  const Scalar* scalar = find(attribute);
  const auto* flag = scalar ? std::get_if<bool>(&scalar->value) : nullptr;
  return flag ? std::optional(*flag) : std::nullopt;
}

std::string Loom::title(TerminalIndex i) const {
  const Terminal& t = terminal(i);
  const std::string& part_name = part(t.part).name;
  return t.name.empty() ? part_name : part_name + "." + t.name;
}

std::optional<PartIndex> Loom::find_part(std::string_view name) const {
  const auto found = std::find_if(parts.begin(), parts.end(), [&](const Part& p) { return p.name == name; });
  if (found == parts.end()) return std::nullopt;
  return PartIndex{static_cast<std::size_t>(found - parts.begin())};
}

std::optional<TerminalIndex> Loom::find_terminal(std::string_view dotted) const {
  const std::size_t dot = dotted.find('.');
  const std::optional<PartIndex> owner = find_part(dotted.substr(0, dot));
  if (!owner) return std::nullopt;
  const std::string_view name = dot == std::string_view::npos ? std::string_view() : dotted.substr(dot + 1);
  for (TerminalIndex t : part(*owner).terminals) {
    if (terminal(t).name == name) return t;
  }
  return std::nullopt;
}

}  // namespace loomproof
