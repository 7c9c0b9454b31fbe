// Chains by joining lines over nodes of degree two.
#include "solve/fault_classes.h"

#include <algorithm>
#include <map>
#include <numeric>
#include <utility>

#include "solve/linear_network.h"
#include "solve/union_find.h"

namespace loomproof {
namespace {

// Carries what its neighbour carries and does nothing by itself but conduct or not.
bool may_be_a_link(const Circuit& circuit, const FaultLines& lines, std::size_t line) {
  if (!lines.is_branch(line)) return true;
  const Branch& b = circuit.branches[line];
  switch (b.type) {
    case BranchType::wire:
    case BranchType::resistance:
    case BranchType::fuse:
    case BranchType::contact:
    case BranchType::coil:
      return true;
    case BranchType::load:
      return !is_active(circuit, b) && own_conductance(circuit, b) > 0;
    default:
      return false;
  }
}

// Voltages that a condition asks for.
void list_powered_nodes(const Circuit& circuit, const Condition& c, std::vector<std::pair<int, int>>& out) {
  if (c.op == Condition::Op::powered) out.emplace_back(circuit.node(c.pos), circuit.node(c.neg));
  for (const Condition& inner : c.of) list_powered_nodes(circuit, inner, out);
}

// Pairs of nodes between which the logic, a rule of `must` or a load that conducts nothing reads a voltage. What is
// read across a branch of its own needs no entry: the branch itself holds its two ends together.
std::vector<std::pair<int, int>> observers_of(const Circuit& circuit) {
  const Elements& all = circuit.loom->elements;
  std::vector<std::pair<int, int>> out;
  const auto add = [&](TerminalIndex a, TerminalIndex b) { out.emplace_back(circuit.node(a), circuit.node(b)); };
  for (const Input& i : all.inputs) add(i.terminal, i.reference);
  for (const Converter& c : all.converters) add(c.in_pos, c.in_neg);
  for (const Coil& c : all.coils) {
    if (!c.ohm) add(c.a, c.b);
  }
  for (const Load& l : all.loads) {
    if (!draws_current(l)) add(l.pos, l.neg);
  }
  for (const Must& must : circuit.loom->musts) {
    if (!must.live) continue;
    for (const Source& s : all.sources) add(*must.live, s.neg);
    for (const Converter& c : all.converters) add(*must.live, c.out_neg);
  }
  for (const Source& s : all.sources) list_powered_nodes(circuit, s.when, out);
  for (const Converter& c : all.converters) list_powered_nodes(circuit, c.when, out);
  for (const Contact& c : all.contacts) list_powered_nodes(circuit, c.closed_when, out);
  for (const Output& o : all.outputs) list_powered_nodes(circuit, o.when, out);
  return out;
}

// By line: the chain that it lies in.
std::vector<int> chains(const FaultNetwork& network) {
  const Circuit& circuit = network.circuit();
  const FaultLines& lines = network.lines();
  std::vector<std::vector<std::size_t>> at(static_cast<std::size_t>(circuit.nodes));
  for (std::size_t l = 0; l < lines.first_bridge; ++l) {
    if (lines.all[l].a == lines.all[l].b) continue;
    at[lines.all[l].a].push_back(l);
    at[lines.all[l].b].push_back(l);
  }
  std::vector<char> is_read(at.size(), 0);
  for (const auto& [a, b] : observers_of(circuit)) is_read[a] = is_read[b] = 1;
  std::vector<int> up(lines.all.size());
  std::iota(up.begin(), up.end(), 0);
  for (std::size_t n = 0; n < at.size(); ++n) {
    if (is_read[n] != 0 || at[n].size() != 2 || static_cast<int>(n) == circuit.frame_node) continue;
    const std::size_t one = at[n][0], other = at[n][1];
    if (may_be_a_link(circuit, lines, one) && may_be_a_link(circuit, lines, other))
      up[top(up, static_cast<int>(one))] = top(up, static_cast<int>(other));
  }
  for (std::size_t l = 0; l < up.size(); ++l) up[l] = top(up, static_cast<int>(l));
  return up;
}

// The one line that a fault breaks and nothing besides; none: it is not of that kind.
std::size_t broken_line(const FaultNetwork& network, const Fault& f) {
  switch (f.type) {
    case FaultType::wire_open:
      return network.circuit().wire_branch[f.index];
    case FaultType::contact_open:
      return network.lines().contact[f.index];
    case FaultType::fuse_open:
      return network.lines().fuse[f.index];
    case FaultType::ground_lost:
      return network.lines().stud[f.index];
    default:
      return network.lines().none();
  }
}

}  // namespace

std::vector<std::size_t> fault_classes(const FaultNetwork& network, const std::vector<Fault>& faults) {
  const FaultLines& lines = network.lines();
  const std::vector<int> chain = chains(network);
  std::map<int, std::size_t> broken;
  std::map<std::pair<int, int>, std::size_t> bridged;
  std::vector<std::size_t> out(faults.size());
  for (std::size_t f = 0; f < faults.size(); ++f) {
    out[f] = f;
    if (faults[f].type == FaultType::wire_on_frame) {
      const FaultLine& line = lines.all[lines.chafe[faults[f].index]];
      out[f] = bridged.emplace(std::minmax(line.a, line.b), f).first->second;
    } else if (const std::size_t line = broken_line(network, faults[f]); line != lines.none()) {
      out[f] = broken.emplace(chain[line], f).first->second;
    }
  }
  return out;
}

}  // namespace loomproof
