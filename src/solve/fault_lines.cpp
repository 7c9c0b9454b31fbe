// All that may ever conduct in a circuit with one fault in it.
#include "solve/fault_lines.h"

#include <algorithm>

namespace loomproof {
namespace {

constexpr double stud_ohm = 20e-6;  // a bolted joint

std::size_t add_line(FaultLines& lines, int a, int b, double ohm) {
  lines.all.push_back({a, b, ohm});
  return lines.all.size() - 1;
}

// Wires on a stud end at its own node, which a joint ties to the frame.
void part_studs(Circuit& circuit, const std::vector<Fault>& faults, FaultLines& lines) {
  const Loom& loom = *circuit.loom;
  std::vector<int> stud_node(loom.terminals.size(), -1);
  for (const Fault& f : faults) {
    if (f.type == FaultType::ground_lost) stud_node[f.index] = circuit.nodes++;
  }
  for (std::size_t w = 0; w < loom.wires.size(); ++w) {
    Branch& branch = circuit.branches[circuit.wire_branch[w]];
    if (const int from = stud_node[loom.wires[w].from.value]; from >= 0) branch.a = from;
    if (const int to = stud_node[loom.wires[w].to.value]; to >= 0) branch.b = to;
  }
  for (const Branch& b : circuit.branches) add_line(lines, b.a, b.b, b.ohm);
  lines.first_stud = lines.all.size();
  lines.stud.assign(loom.terminals.size(), 0);
  for (std::size_t t = 0; t < stud_node.size(); ++t) {
    if (stud_node[t] < 0) continue;
    lines.stud[t] = add_line(lines, stud_node[t], circuit.node_of[t], stud_ohm);
    circuit.node_of[t] = stud_node[t];
  }
  circuit.island_of.assign(circuit.nodes, 0);
  circuit.ground_rank.resize(circuit.nodes, circuit.nodes + 1);
}

void lay_fault_bridges(const Circuit& circuit, const std::vector<Fault>& faults, FaultLines& lines) {
  const Loom& loom = *circuit.loom;
  lines.first_bridge = lines.all.size();
  lines.chafe.assign(loom.wires.size(), 0);
  for (const Fault& f : faults) {
    if (f.type == FaultType::wire_on_frame) {
      const int end = circuit.branches[circuit.wire_branch[f.index]].b;
      lines.chafe[f.index] = add_line(lines, end, circuit.frame_node, bridge_ohm);
    } else if (f.type == FaultType::pins_bridged) {
      const auto node = [&](std::size_t c) { return circuit.node(loom.elements.contacts[c].a); };
      lines.pins.push_back({{f.index, f.other}, add_line(lines, node(f.index), node(f.other), bridge_ohm)});
    }
  }
}

void list_lines_by_element(const Circuit& circuit, FaultLines& lines) {
  const Elements& all = circuit.loom->elements;
  lines.contact.assign(all.contacts.size(), 0);
  lines.fuse.assign(all.fuses.size(), 0);
  lines.coil.assign(all.coils.size(), lines.none());
  lines.load.assign(all.loads.size(), 0);
  lines.source.assign(all.sources.size(), 0);
  lines.converter_in.assign(all.converters.size(), 0);
  lines.converter_out.assign(all.converters.size(), 0);
  const auto list_of = [&](BranchType type) -> std::vector<std::size_t>* {
    switch (type) {
      case BranchType::contact:
        return &lines.contact;
      case BranchType::fuse:
        return &lines.fuse;
      case BranchType::coil:
        return &lines.coil;
      case BranchType::load:
        return &lines.load;
      case BranchType::source:
        return &lines.source;
      case BranchType::converter_in:
        return &lines.converter_in;
      case BranchType::converter_out:
        return &lines.converter_out;
      default:
        return nullptr;
    }
  };
  for (std::size_t i = 0; i < circuit.branches.size(); ++i) {
    if (auto* list = list_of(circuit.branches[i].type)) (*list)[circuit.branches[i].index] = i;
  }
}

}  // namespace

FaultLines lay_fault_lines(Circuit& circuit, const std::vector<Fault>& faults) {
  FaultLines lines;
  part_studs(circuit, faults, lines);
  lay_fault_bridges(circuit, faults, lines);
  list_lines_by_element(circuit, lines);
  return lines;
}

LaidFault laid_by(const Fault& f, const Circuit& circuit, const FaultLines& lines) {
  LaidFault out;
  switch (f.type) {
    case FaultType::wire_open:
      out.opened.push_back(circuit.wire_branch[f.index]);
      break;
    case FaultType::wire_on_frame:
      out.bridge = lines.chafe[f.index];
      break;
    case FaultType::pins_bridged:
      for (const auto& [pins, line] : lines.pins) {
        if (pins == std::pair(f.index, f.other)) out.bridge = line;
      }
      break;
    case FaultType::connector_unmated: {
      const auto& contacts = circuit.loom->elements.contacts;
      for (std::size_t i = 0; i < contacts.size(); ++i) {
        if (contacts[i].part.value == f.index) out.logic.contacts_open.push_back(i);
      }
      break;
    }
    case FaultType::switch_stuck:
      out.stuck.emplace(PartIndex{f.index}, f.position);
      break;
    case FaultType::contact_welded:
      out.logic.contacts_closed.push_back(f.index);
      break;
    case FaultType::contact_open:
      out.logic.contacts_open.push_back(f.index);
      break;
    case FaultType::fuse_open:
      out.opened.push_back(lines.fuse[f.index]);
      break;
    case FaultType::coil_open:
      if (lines.coil[f.index] != lines.none()) out.opened.push_back(lines.coil[f.index]);
      out.logic.dead_coils.push_back(f.index);
      break;
    case FaultType::lamp_out:
      out.opened.push_back(lines.load[f.index]);
      break;
    case FaultType::ground_lost:
      out.opened.push_back(lines.stud[f.index]);
      break;
    case FaultType::supply_lost:
      out.opened.push_back(lines.source[f.index]);
      out.logic.dead_sources.push_back(f.index);
      break;
    case FaultType::converter_dead:
      out.opened = {lines.converter_in[f.index], lines.converter_out[f.index]};
      out.logic.dead_converters.push_back(f.index);
      break;
  }
  return out;
}

std::vector<char> lines_there(const FaultLines& lines, const LaidFault& laid) {
  std::vector<char> out(lines.all.size(), 0);
  std::fill(out.begin(), out.begin() + static_cast<std::ptrdiff_t>(lines.first_bridge), char{1});
  if (laid.bridge != 0) out[laid.bridge] = 1;
  for (std::size_t l : laid.opened) out[l] = 0;
  for (std::size_t i : laid.logic.contacts_open) out[lines.contact[i]] = 0;
  return out;
}

bool draws_current(const Load& load) {
  return load.amount && (load.form == Load::Form::resistive || *load.amount != 0);
}

bool conducts(const Circuit& circuit, const FaultLines& lines, std::size_t line, const LogicState& logic) {
  if (!lines.is_branch(line)) return true;
  const Branch& b = circuit.branches[line];
  switch (b.type) {
    case BranchType::contact:
      return logic.contact_closed[b.index] != 0;
    case BranchType::source:
      return logic.source_on[b.index] != 0;
    case BranchType::converter_in:
    case BranchType::converter_out:
      return logic.converter_on[b.index] != 0;
    case BranchType::load:
      return draws_current(circuit.loom->elements.loads[b.index]);
    default:
      return true;
  }
}

bool may_push(const Circuit& circuit, const FaultLines& lines, std::size_t line, const LogicState& logic) {
  if (!lines.is_branch(line)) return false;
  const Branch& b = circuit.branches[line];
  switch (b.type) {
    case BranchType::source:
      return logic.source_on[b.index] != 0;
    case BranchType::converter_out:
      return logic.converter_on[b.index] != 0;
    case BranchType::load: {
      const Datum& amount = circuit.loom->elements.loads[b.index].amount;
      return amount && *amount < 0;
    }
    default:
      return false;
  }
}

}  // namespace loomproof
