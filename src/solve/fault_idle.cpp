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
      observers_(observers_of(circuit_)),
      walk_(static_cast<std::size_t>(circuit_.nodes)) {
  words_ = observers_.size() / 64 + 1;
  const auto nodes = static_cast<std::size_t>(circuit_.nodes);
  observed_.assign(nodes * words_, 0);
  for (std::size_t i = 0; i < observers_.size(); ++i) {
    for (int n : {observers_[i].first, observers_[i].second})
      observed_[static_cast<std::size_t>(n) * words_ + i / 64] ^= std::uint64_t{1} << (i % 64);
  }
  for (std::size_t l = 0; l < lines_.first_bridge; ++l) walk_.add(lines_.all[l].a, lines_.all[l].b, l);
  flow_.resize(lines_.all.size());
  is_source_.resize(lines_.all.size());
  piece_.resize(nodes);
  up_.resize(nodes);
  split_.resize(nodes * words_);
}

// A converter's input without voltage need not join its two ends.
void IdleFaults::close_block(const std::size_t* first, const std::size_t* last) {
  bool live = false, doubtful = false;
  for (const std::size_t* l = first; l != last; ++l) {
    live |= is_source_[*l] != 0;
    doubtful |= lines_.is_branch(*l) && circuit_.branches[*l].type == BranchType::converter_in;
  }
  for (const std::size_t* l = first; l != last; ++l) {
    const FaultLine& line = lines_.all[*l];
    flow_[*l] = live ? Flow::live : doubtful ? Flow::parting : Flow::dead;
    if (!live && !doubtful) up_[top(up_, line.a)] = top(up_, line.b);
  }
}

void IdleFaults::find_blocks(const LogicState& logic) {
  std::fill(flow_.begin(), flow_.end(), Flow::none);
  std::iota(up_.begin(), up_.end(), 0);
  split_ = observed_;
  for (std::size_t l = 0; l < lines_.first_bridge; ++l) {
    is_source_[l] = may_push(circuit_, lines_, l, logic) ? 1 : 0;
    if (conducts(circuit_, lines_, l, logic)) flow_[l] = Flow::dead;
  }
  bool is_split = false;  // an observer looks across the line by which the last node was left
  walk_.walk([&](std::size_t l) { return flow_[l] != Flow::none; },
             [&](int node, int parent, std::size_t) { piece_[node] = parent < 0 ? node : piece_[parent]; },
             [&](int parent, int node, std::size_t) {
               is_split = false;
               for (std::size_t w = 0; w < words_; ++w) {
                 const std::uint64_t mine = split_[static_cast<std::size_t>(node) * words_ + w];
                 is_split |= mine != 0;
                 split_[static_cast<std::size_t>(parent) * words_ + w] ^= mine;
               }
             },
             [&](std::size_t by, const std::size_t* first, const std::size_t* last) {
               close_block(first, last);
               if (last - first == 1 && is_split && flow_[by] == Flow::dead) flow_[by] = Flow::parting;
             });
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
