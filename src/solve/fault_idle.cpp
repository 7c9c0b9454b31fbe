// Blocks of the graph with and without a source, by one walk in depth.
#include "solve/fault_idle.h"

#include <algorithm>
#include <numeric>

#include "solve/union_find.h"

namespace loomproof {
namespace {

// Voltages that a condition asks for.
void list_powered_nodes(const Circuit& circuit, const Condition& c, std::vector<std::pair<int, int>>& out) {
  if (c.op == Condition::Op::powered) out.emplace_back(circuit.node(c.pos), circuit.node(c.neg));
  for (const Condition& inner : c.of) list_powered_nodes(circuit, inner, out);
}

// Joins its two ends where there is no voltage: starved, it is a resistance.
bool draws_current(const Load& load) {
  return load.amount && (load.form == Load::Form::resistive || *load.amount != 0);
}

}  // namespace

// What is read across a branch of its own needs no entry: the branch itself holds its two ends together.
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

IdleFaults::IdleFaults(const FaultNetwork& network, const std::vector<Fault>& faults)
    : circuit_(network.circuit()),
      all_(circuit_.loom->elements),
      lines_(network.lines()),
      faults_(faults),
      observers_(observers_of(circuit_)) {
  words_ = observers_.size() / 64 + 1;
  const auto nodes = static_cast<std::size_t>(circuit_.nodes);
  observed_.assign(nodes * words_, 0);
  for (std::size_t i = 0; i < observers_.size(); ++i) {
    for (int n : {observers_[i].first, observers_[i].second})
      observed_[static_cast<std::size_t>(n) * words_ + i / 64] ^= std::uint64_t{1} << (i % 64);
  }
  beside_.resize(nodes);
  for (std::size_t l = 0; l < lines_.first_bridge; ++l) {
    const FaultLine& line = lines_.all[l];
    if (line.a == line.b) continue;
    beside_[line.a].push_back({line.b, l});
    beside_[line.b].push_back({line.a, l});
  }
  flow_.resize(lines_.all.size());
  is_source_.resize(lines_.all.size());
  number_.resize(nodes);
  low_.resize(nodes);
  piece_.resize(nodes);
  up_.resize(nodes);
  split_.resize(nodes * words_);
}

bool IdleFaults::conducts(std::size_t line, const LogicState& logic) const {
  if (!lines_.is_branch(line)) return true;
  const Branch& b = circuit_.branches[line];
  switch (b.type) {
    case BranchType::contact:
      return logic.contact_closed[b.index] != 0;
    case BranchType::source:
      return logic.source_on[b.index] != 0;
    case BranchType::converter_in:
    case BranchType::converter_out:
      return logic.converter_on[b.index] != 0;
    case BranchType::load:
      return draws_current(all_.loads[b.index]);
    default:
      return true;
  }
}

bool IdleFaults::is_source(std::size_t line, const LogicState& logic) const {
  if (!lines_.is_branch(line)) return false;
  const Branch& b = circuit_.branches[line];
  if (b.type == BranchType::load) return all_.loads[b.index].amount && *all_.loads[b.index].amount < 0;
  return (b.type == BranchType::source || b.type == BranchType::converter_out) && conducts(line, logic);
}

// The lines of a block lie last on the stack. A converter's input without voltage need not join its two ends.
void IdleFaults::close_block(std::size_t first_edge) {
  bool live = false, doubtful = false;
  for (std::size_t e = first_edge; e < edges_.size(); ++e) {
    const std::size_t l = edges_[e];
    live |= is_source_[l] != 0;
    doubtful |= lines_.is_branch(l) && circuit_.branches[l].type == BranchType::converter_in;
  }
  for (std::size_t e = first_edge; e < edges_.size(); ++e) {
    const FaultLine& line = lines_.all[edges_[e]];
    flow_[edges_[e]] = live ? Flow::live : doubtful ? Flow::parting : Flow::dead;
    if (!live && !doubtful) up_[top(up_, line.a)] = top(up_, line.b);
  }
  edges_.resize(first_edge);
}

void IdleFaults::find_blocks(const LogicState& logic) {
  std::fill(flow_.begin(), flow_.end(), Flow::none);
  std::fill(number_.begin(), number_.end(), -1);
  std::iota(up_.begin(), up_.end(), 0);
  split_ = observed_;
  for (std::size_t l = 0; l < lines_.first_bridge; ++l) {
    is_source_[l] = is_source(l, logic) ? 1 : 0;
    if (conducts(l, logic)) flow_[l] = Flow::dead;
  }
  struct Visit {
    int node = 0;
    std::size_t by = 0;  // line
    std::size_t next = 0;
    std::size_t first_edge = 0;
  };
  std::vector<Visit> stack;
  int counted = 0;
  for (int root = 0; root < circuit_.nodes; ++root) {
    if (number_[root] >= 0) continue;
    number_[root] = low_[root] = counted++;
    piece_[root] = root;
    stack.push_back({root, lines_.none(), 0, 0});
    while (!stack.empty()) {
      Visit& at = stack.back();
      if (at.next < beside_[at.node].size()) {
        const Half half = beside_[at.node][at.next++];
        if (flow_[half.line] == Flow::none || half.line == at.by) continue;
        if (number_[half.to] < 0) {
          number_[half.to] = low_[half.to] = counted++;
          piece_[half.to] = root;
          stack.push_back({half.to, half.line, 0, edges_.size()});
          edges_.push_back(half.line);
        } else if (number_[half.to] < number_[at.node]) {
          edges_.push_back(half.line);
          low_[at.node] = std::min(low_[at.node], number_[half.to]);
        }
        continue;
      }
      const Visit done = at;
      stack.pop_back();
      if (stack.empty()) break;
      const int parent = stack.back().node;
      low_[parent] = std::min(low_[parent], low_[done.node]);
      std::uint64_t split = 0;
      for (std::size_t w = 0; w < words_; ++w) {
        const std::uint64_t mine = split_[static_cast<std::size_t>(done.node) * words_ + w];
        split |= mine;
        split_[static_cast<std::size_t>(parent) * words_ + w] ^= mine;
      }
      if (low_[done.node] < number_[parent]) continue;
      const bool alone = edges_.size() == done.first_edge + 1;
      close_block(done.first_edge);
      if (alone && split != 0 && flow_[done.by] == Flow::dead) flow_[done.by] = Flow::parting;
    }
  }
}

// A diode that leads nowhere stands at its forward voltage, or not, by what it stood at before: no rule for those.
bool IdleFaults::may_open(std::size_t line) const {
  return all_.diodes.empty() && (line == lines_.none() || flow_[line] == Flow::none || flow_[line] == Flow::dead);
}

bool IdleFaults::may_bridge(std::size_t line) {
  if (!all_.diodes.empty()) return false;
  const int a = lines_.all[line].a, b = lines_.all[line].b;
  if (piece_[a] == piece_[b]) return top(up_, a) == top(up_, b);
  return std::none_of(observers_.begin(), observers_.end(), [&](const std::pair<int, int>& o) {
    return (piece_[o.first] == piece_[a] && piece_[o.second] == piece_[b]) ||
           (piece_[o.first] == piece_[b] && piece_[o.second] == piece_[a]);
  });
}

bool IdleFaults::alters_nothing(const Fault& f, const Situation& situation, const LogicState& logic) {
  switch (f.type) {
    case FaultType::wire_open:
      return may_open(circuit_.wire_branch[f.index]);
    case FaultType::wire_on_frame:
      return may_bridge(lines_.chafe[f.index]);
    case FaultType::pins_bridged:
      return std::all_of(lines_.pins.begin(), lines_.pins.end(), [&](const auto& pins) {
        return pins.first != std::pair(f.index, f.other) || may_bridge(pins.second);
      });
    case FaultType::connector_unmated:
      return false;
    case FaultType::switch_stuck:
      return situation.positions[f.index] == f.position;
    case FaultType::contact_welded:
      return logic.contact_closed[f.index] != 0;
    case FaultType::contact_open:
      return logic.contact_closed[f.index] == 0 || may_open(lines_.contact[f.index]);
    case FaultType::fuse_open:
      return may_open(lines_.fuse[f.index]);
    case FaultType::coil_open:
      return logic.coil_on[f.index] == 0 && may_open(lines_.coil[f.index]);
    case FaultType::lamp_out:
      return may_open(lines_.load[f.index]);
    case FaultType::ground_lost:
      return may_open(lines_.stud[f.index]);
    case FaultType::supply_lost:
      return logic.source_on[f.index] == 0;
    case FaultType::converter_dead:
      return logic.converter_on[f.index] == 0;
  }
  return false;
}

void IdleFaults::narrow(const Situation& situation, const LogicState& logic, std::vector<bool>& idle) {
  find_blocks(logic);
  for (std::size_t f = 0; f < faults_.size(); ++f) {
    if (idle[f] && !alters_nothing(faults_[f], situation, logic)) idle[f] = false;
  }
}

}  // namespace loomproof
