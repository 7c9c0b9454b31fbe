// How a fault alters the network of the walk: what it opens, what it holds and what it bridges.
#include <algorithm>
#include <numeric>
#include <utility>

#include "solve/fault_network.h"
#include "solve/linear_network.h"

namespace loomproof {

// Joined for as long as no fault opens it.
bool FaultNetwork::lasts(std::size_t line) const {
  if (!lines_.is_branch(line)) return !lines_.is_bridge(line);
  if (may_blow_ && circuit_.branches[line].type == BranchType::fuse) return false;
  const Branch& b = circuit_.branches[line];
  if (is_active(circuit_, b)) return false;
  if (b.type == BranchType::contact) {
    return loom_.elements.contacts[b.index].closed_when.op == Condition::Op::always;
  }
  return own_conductance(circuit_, b) > 0;
}

Island FaultNetwork::laid_island() const {
  std::vector<int> nodes(circuit_.nodes);
  std::iota(nodes.begin(), nodes.end(), 0);
  std::vector<IslandLink> links;
  for (std::size_t l = 0; l < lines_.all.size(); ++l) {
    const bool pushes = lines_.is_branch(l) && is_active(circuit_, circuit_.branches[l]);
    links.push_back({lines_.all[l].a, lines_.all[l].b, lasts(l), pushes, lines_.is_bridge(l)});
  }
  return Island(std::move(nodes), watched_nodes(circuit_), links, circuit_.ground_rank);
}

// Of a line that stands still while the network settles; the others are set then.
double FaultNetwork::line_conductance(std::size_t line) const {
  if (!lines_.is_branch(line)) return 1 / lines_.all[line].ohm;
  const Branch& b = circuit_.branches[line];
  if (is_active(circuit_, b) || b.type == BranchType::contact || is_divider(b)) return 0;
  return own_conductance(circuit_, b);
}

void FaultNetwork::open_line(std::size_t line) {
  if (std::exchange(open_[line], char{1}) != 0) return;
  island_.set_lasting(line, false);
  island_.set_conductance(line, 0);
  island_.set_push(line, 0);
  if (lines_.is_branch(line)) laws_.opened[line] = 1;
}

void FaultNetwork::close_line(std::size_t line) {
  if (std::exchange(open_[line], char{0}) == 0) return;
  island_.set_lasting(line, lasts(line));
  island_.set_conductance(line, line_conductance(line));
  if (lines_.is_branch(line)) laws_.opened[line] = 0;
}

void FaultNetwork::lay_bridge(std::size_t line) {
  let_fuses_blow(true);
  bridge_ = line;
  island_.set_laid(line, true);
  island_.set_conductance(line, 1 / lines_.all[line].ohm);
}

// A bridge may blow any fuse, again and again: these are then taken out of what never opens, once and for all.
void FaultNetwork::let_fuses_blow(bool may) {
  if (std::exchange(may_blow_, may) == may) return;
  for (std::size_t line : lines_.fuse) island_.set_lasting(line, open_[line] == 0 && lasts(line));
}

void FaultNetwork::hold_contact(std::size_t contact, bool closed) {
  held_contact_[contact] = closed ? 1 : 0;
  if (closed || !lasts(lines_.contact[contact])) return;  // as a switch or a relay may hold it, too
  island_.set_lasting(lines_.contact[contact], false);
  alters_circuit_ = true;
}

void FaultNetwork::remove_fault() {
  for (std::size_t i : blown_) close_line(lines_.fuse[i]);
  blown_.clear();
  if (fault_ == nullptr) return;
  fault_ = nullptr;
  for (std::size_t l = 0; l < open_.size(); ++l) close_line(l);
  alters_circuit_ = false;
  for (std::size_t i = 0; i < held_contact_.size(); ++i) {
    if (std::exchange(held_contact_[i], std::int8_t{-1}) != 0) continue;
    island_.set_lasting(lines_.contact[i], lasts(lines_.contact[i]));
  }
  if (bridge_ != 0) {
    island_.set_conductance(bridge_, 0);
    island_.set_laid(bridge_, false);
    bridge_ = 0;
    let_fuses_blow(false);
  }
  logic_.set_fault({});
}

void FaultNetwork::apply(const Fault* fault) {
  remove_fault();
  fault_memo_.clear();
  fault_ = fault;
  if (fault == nullptr) return;
  const LaidFault laid = laid_by(*fault, circuit_, lines_);
  for (std::size_t line : laid.opened) open_line(line);
  if (laid.bridge != 0) lay_bridge(laid.bridge);
  alters_circuit_ = !laid.opened.empty();
  for (std::size_t i : laid.logic.contacts_open) hold_contact(i, false);
  for (std::size_t i : laid.logic.contacts_closed) hold_contact(i, true);
  logic_.set_fault(laid.logic);
}

std::vector<FaultNetwork::Edge> FaultNetwork::edges() const {
  std::vector<Edge> out;
  for (std::size_t l = 0; l < lines_.all.size(); ++l) {
    const FaultLine& line = lines_.all[l];
    if (open_[l] != 0 || (lines_.is_bridge(l) && l != bridge_)) continue;
    if (!lines_.is_branch(l)) {
      out.push_back({BranchType::resistance, 0, line.a, line.b, true, line.ohm});
      continue;
    }
    const Branch& b = circuit_.branches[l];
    if (b.type == BranchType::contact && held_contact_[b.index] == 0) continue;
    out.push_back({b.type, b.index, line.a, line.b, false, line.ohm});
  }
  return out;
}

std::vector<int> FaultNetwork::touched() const {
  std::vector<int> out;
  if (fault_ == nullptr) return out;
  for (std::size_t l = 0; l < lines_.all.size(); ++l) {
    bool is = open_[l] != 0 || (l == bridge_ && l != 0);
    if (lines_.is_branch(l) && circuit_.branches[l].type == BranchType::contact) {
      const std::size_t contact = circuit_.branches[l].index;
      is |= held_contact_[contact] >= 0;
      is |= fault_->type == FaultType::switch_stuck && given_.contacts[contact].part.value == fault_->index;
    }
    if (is) out.insert(out.end(), {lines_.all[l].a, lines_.all[l].b});
  }
  return out;
}

}  // namespace loomproof
