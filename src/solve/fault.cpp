// Every single fault of a loom, found in its tables.
#include "solve/fault.h"

#include <algorithm>

#include <fmt/format.h>

namespace loomproof {
namespace {

bool names_position(const Condition& c) {
  return c.op == Condition::Op::position || std::any_of(c.of.begin(), c.of.end(), names_position);
}

// Parts that are worked by hand through contacts alone.
std::vector<char> switches_of(const Loom& loom) {
  std::vector<char> is(loom.parts.size(), 0);
  for (const Contact& c : loom.elements.contacts) {
    if (loom.part(c.part).positions.size() > 1 && names_position(c.closed_when)) is[c.part.value] = 1;
  }
  for (const Divider& d : loom.elements.dividers) is[d.part.value] = 0;
  for (const Source& s : loom.elements.sources) is[s.part.value] = 0;
  return is;
}

bool is_mated_pin(const Contact& c) {
  return !c.operated && c.name.starts_with("pin");
}

std::optional<int> number_behind(const std::string& name) {
  const std::size_t from = name.find_first_of("0123456789");
  if (from == std::string::npos || name.size() - from > 6) return std::nullopt;
  return std::stoi(name.substr(from));
}

void add_connectors(const Loom& loom, std::vector<Fault>& bridged, std::vector<Fault>& unmated) {
  const auto& contacts = loom.elements.contacts;
  for (std::size_t p = 0; p < loom.parts.size(); ++p) {
    bool any = false;
    for (std::size_t i = 0; i < contacts.size(); ++i) {
      if (contacts[i].part.value != p || !is_mated_pin(contacts[i])) continue;
      any = true;
      const auto n = number_behind(contacts[i].name);
      for (std::size_t j = i + 1; n && j < contacts.size(); ++j) {
        if (contacts[j].part.value != p || !is_mated_pin(contacts[j])) continue;
        const auto m = number_behind(contacts[j].name);
        if (m && (*m == *n + 1 || *m == *n - 1)) bridged.push_back({FaultType::pins_bridged, i, j, 0});
      }
    }
    if (any) unmated.push_back({FaultType::connector_unmated, p, 0, 0});
  }
}

}  // namespace

std::vector<Fault> single_faults(const Circuit& circuit) {
  const Loom& loom = *circuit.loom;
  const Elements& all = loom.elements;
  std::vector<Fault> out;
  const auto each = [&](FaultType type, std::size_t count, auto&& counts) {
    for (std::size_t i = 0; i < count; ++i) {
      if (counts(i)) out.push_back({type, i, 0, 0});
    }
  };
  const auto any = [](std::size_t) { return true; };
  each(FaultType::wire_open, loom.wires.size(), any);
  each(FaultType::wire_on_frame, loom.wires.size(), [&](std::size_t) { return circuit.frame_node >= 0; });
  std::vector<Fault> unmated;
  add_connectors(loom, out, unmated);
  out.insert(out.end(), unmated.begin(), unmated.end());
  const std::vector<char> is_switch = switches_of(loom);
  for (std::size_t p = 0; p < loom.parts.size(); ++p) {
    for (std::size_t k = 0; is_switch[p] != 0 && k < loom.parts[p].positions.size(); ++k) {
      out.push_back({FaultType::switch_stuck, p, 0, static_cast<int>(k)});
    }
  }
  const auto moves = [&](std::size_t i) { return all.contacts[i].operated; };
  each(FaultType::contact_welded, all.contacts.size(), moves);
  each(FaultType::contact_open, all.contacts.size(), moves);
  each(FaultType::fuse_open, all.fuses.size(), any);
  each(FaultType::coil_open, all.coils.size(), any);
  each(FaultType::lamp_out, all.loads.size(), [&](std::size_t i) { return all.loads[i].light; });
  each(FaultType::ground_lost, loom.terminals.size(), [&](std::size_t t) {
    const Part& part = loom.part(loom.terminals[t].part);
    if (!loom.kind_of(part).is_frame) return false;
    return std::any_of(loom.wires.begin(), loom.wires.end(),
                       [&](const Wire& w) { return w.from.value == t || w.to.value == t; });
  });
  each(FaultType::supply_lost, all.sources.size(), [&](std::size_t i) { return all.sources[i].zone == Zone::signal; });
  each(FaultType::converter_dead, all.converters.size(), any);
  return out;
}

std::string what_happened(const Loom& loom, const Fault& f) {
  switch (f.type) {
    case FaultType::wire_open:
    case FaultType::fuse_open:
      return "open";
    case FaultType::coil_open:
      return "coil open";
    case FaultType::wire_on_frame:
      return "chafed to the frame";
    case FaultType::pins_bridged:
      return fmt::format("bridged to '{}'", loom.elements.contacts[f.other].name);
    case FaultType::connector_unmated:
      return "unmated";
    case FaultType::switch_stuck:
      return fmt::format("stuck in {}", loom.parts[f.index].positions[f.position]);
    case FaultType::contact_welded:
      return "welded";
    case FaultType::contact_open:
      return "not closing";
    case FaultType::lamp_out:
      return "burnt out";
    case FaultType::ground_lost:
      return "off the frame";
    case FaultType::supply_lost:
      return "lost";
    case FaultType::converter_dead:
      return "dead";
  }
  return "open";
}

std::string title_of(const Loom& loom, const Load& load) {
  const bool alone = load.name == "body" || load.name == "light" || load.name == "filament";
  return alone ? loom.part(load.part).name : loom.part(load.part).name + "." + load.name;
}

std::string name_of(const Loom& loom, const Fault& f) {
  const Elements& all = loom.elements;
  const auto dotted = [&](const Element& e) { return loom.part(e.part).name + "." + e.name; };
  switch (f.type) {
    case FaultType::wire_open:
    case FaultType::wire_on_frame:
      return loom.wires[f.index].name;
    case FaultType::pins_bridged:
    case FaultType::contact_welded:
    case FaultType::contact_open:
      return dotted(all.contacts[f.index]);
    case FaultType::connector_unmated:
    case FaultType::switch_stuck:
      return loom.parts[f.index].name;
    case FaultType::fuse_open: {
      const Fuse& fuse = all.fuses[f.index];
      return fuse.name.starts_with("sense_fuse") ? dotted(fuse) : loom.part(fuse.part).name;
    }
    case FaultType::coil_open:
      return loom.part(all.coils[f.index].part).name;
    case FaultType::lamp_out:
      return title_of(loom, all.loads[f.index]);
    case FaultType::ground_lost:
      return loom.title(TerminalIndex{f.index});
    case FaultType::supply_lost:
      return dotted(all.sources[f.index]);
    case FaultType::converter_dead:
      return loom.part(all.converters[f.index].part).name;
  }
  return {};
}

std::string describe(const Loom& loom, const Fault& f) {
  return fmt::format("'{}' {}", name_of(loom, f), what_happened(loom, f));
}

std::string_view name_of(FaultType type) {
  switch (type) {
    case FaultType::wire_open:
      return "wire open";
    case FaultType::wire_on_frame:
      return "wire chafed to the frame";
    case FaultType::pins_bridged:
      return "neighbouring pins bridged";
    case FaultType::connector_unmated:
      return "connector unmated";
    case FaultType::switch_stuck:
      return "switch stuck";
    case FaultType::contact_welded:
      return "contact welded";
    case FaultType::contact_open:
      return "contact not closing";
    case FaultType::fuse_open:
      return "fuse open";
    case FaultType::coil_open:
      return "coil open";
    case FaultType::lamp_out:
      return "lamp burnt out";
    case FaultType::ground_lost:
      return "ground lost";
    case FaultType::supply_lost:
      return "sensor supply lost";
    case FaultType::converter_dead:
      return "converter dead";
  }
  return "wire open";
}

std::optional<PartIndex> part_of(const Loom& loom, const Fault& f) {
  const Elements& all = loom.elements;
  switch (f.type) {
    case FaultType::wire_open:
    case FaultType::wire_on_frame:
      return std::nullopt;
    case FaultType::pins_bridged:
    case FaultType::contact_welded:
    case FaultType::contact_open:
      return all.contacts[f.index].part;
    case FaultType::connector_unmated:
    case FaultType::switch_stuck:
      return PartIndex{f.index};
    case FaultType::fuse_open:
      return all.fuses[f.index].part;
    case FaultType::coil_open:
      return all.coils[f.index].part;
    case FaultType::lamp_out:
      return all.loads[f.index].part;
    case FaultType::ground_lost:
      return loom.terminals[f.index].part;
    case FaultType::supply_lost:
      return all.sources[f.index].part;
    case FaultType::converter_dead:
      return all.converters[f.index].part;
  }
  return std::nullopt;
}

std::optional<WireIndex> wire_of(const Fault& f) {
  if (f.type == FaultType::wire_open || f.type == FaultType::wire_on_frame) return WireIndex{f.index};
  return std::nullopt;
}

Place place_of(const Loom& loom, const Fault& f) {
  if (const auto wire = wire_of(f)) return loom.wire(*wire).at;
  const auto part = part_of(loom, f);
  return part ? loom.part(*part).at : Place{};
}

}  // namespace loomproof
