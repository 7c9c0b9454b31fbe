// Clusters between stiff nodes, and what commands what among them.
#include "solve/fault_cone.h"

#include <algorithm>
#include <numeric>

#include "solve/union_find.h"

namespace loomproof {
Cones::Cones(const FaultNetwork& network) : network_(network), all_(network.circuit().loom->elements) {
  const Circuit& circuit = network.circuit();
  const auto edges = network.edges();
  const auto nodes = static_cast<std::size_t>(circuit.nodes);
  std::vector<int> up(nodes);
  std::iota(up.begin(), up.end(), 0);
  for (const auto& e : edges) {
    const bool lasting =
        e.link || e.type == BranchType::wire || e.type == BranchType::fuse ||
        (e.type == BranchType::contact && all_.contacts[e.index].closed_when.op == Condition::Op::always);
    if (lasting) up[top(up, e.a)] = top(up, e.b);
  }
  std::vector<char> stiff_top(nodes, 0);
  const auto stiffen = [&](TerminalIndex t) { stiff_top[top(up, circuit.node(t))] = 1; };
  for (const Source& s : all_.sources) {
    if (s.zone != Zone::signal) stiffen(s.pos), stiffen(s.neg);
  }
  for (const Converter& c : all_.converters) stiffen(c.out_pos), stiffen(c.out_neg);
  std::vector<char> stiff(nodes);
  std::vector<int> pole(nodes);
  for (int n = 0; n < circuit.nodes; ++n) {
    pole[n] = top(up, n);
    stiff[n] = stiff_top[pole[n]];
  }
  std::iota(up.begin(), up.end(), 0);
  for (const auto& e : edges) {
    if (stiff[e.a] == 0 && stiff[e.b] == 0) up[top(up, e.a)] = top(up, e.b);
  }
  cluster_.assign(nodes, -1);
  std::vector<int> number(nodes, -1);
  for (int n = 0; n < circuit.nodes; ++n) {
    if (stiff[n] != 0) continue;
    int& mine = number[top(up, n)];
    if (mine < 0) mine = clusters_++;
    cluster_[n] = mine;
  }
  contacts_.resize(clusters_);
  sources_.resize(clusters_);
  dividers_.resize(clusters_);
  for (const auto& e : edges) {
    const int c = std::max(cluster_[e.a], cluster_[e.b]);
    if (e.link || c < 0) continue;
    if (e.type == BranchType::contact) contacts_[c].push_back(e.index);
    if (e.type == BranchType::source) sources_[c].push_back(e.index);
    if (e.type == BranchType::divider_upper) dividers_[c].push_back(e.index);
  }
  // A cluster without a source that hangs on one pole alone carries no current, however its switches stand.
  std::vector<int> only(clusters_, -1);
  live_.assign(clusters_, 0);
  for (const auto& e : edges) {
    const int c = std::max(cluster_[e.a], cluster_[e.b]);
    if (c < 0) continue;
    // A sensor's supply drives its own loop. With a fault in, that adds no switch to those that had a say without it.
    if (!e.link && e.type == BranchType::source && !network.has_fault()) live_[c] = 1;
    for (int n : {e.a, e.b}) {
      if (cluster_[n] >= 0) continue;
      if (only[c] >= 0 && only[c] != pole[n]) live_[c] = 1;
      only[c] = pole[n];
    }
  }
  for (int n : network.touched()) {
    if (cluster_[n] >= 0) touched_.push_back(cluster_[n]);
  }
  const auto touched = network.touched();
  everywhere_ = touched_.empty() && !touched.empty();
}

void Cones::take_node(int node, Cone& cone, std::vector<int>& queue) const {
  const int c = cluster_[node];
  if (c < 0 || cone.clusters[c] != 0) return;
  cone.clusters[c] = 1;
  queue.push_back(c);
}

void Cones::take(const Condition& c, PartIndex part, Cone& cone, std::vector<int>& queue) const {
  const Circuit& circuit = network_.circuit();
  switch (c.op) {
    case Condition::Op::position:
      cone.parts[part.value] = 1;
      break;
    case Condition::Op::input:
      take_node(circuit.node(all_.inputs[c.index].terminal), cone, queue);
      take_node(circuit.node(all_.inputs[c.index].reference), cone, queue);
      break;
    case Condition::Op::coil:
      take_node(circuit.node(all_.coils[c.index].a), cone, queue);
      take_node(circuit.node(all_.coils[c.index].b), cone, queue);
      break;
    case Condition::Op::output:
      take(all_.outputs[c.index].when, all_.outputs[c.index].part, cone, queue);
      break;
    case Condition::Op::powered:
      take_node(circuit.node(c.pos), cone, queue);
      take_node(circuit.node(c.neg), cone, queue);
      break;
    default:
      break;
  }
  for (const Condition& inner : c.of) take(inner, part, cone, queue);
}

void Cones::close(Cone& cone, std::vector<int>& queue) const {
  while (!queue.empty()) {
    const auto c = static_cast<std::size_t>(queue.back());
    queue.pop_back();
    for (std::size_t i : dividers_[c]) cone.parts[all_.dividers[i].part.value] = 1;
    if (live_[c] == 0) continue;
    for (std::size_t i : contacts_[c]) take(all_.contacts[i].closed_when, all_.contacts[i].part, cone, queue);
    for (std::size_t i : sources_[c]) take(all_.sources[i].when, all_.sources[i].part, cone, queue);
  }
}

Cones::Cone Cones::of(const std::vector<Target>& targets) const {
  Cone cone;
  cone.parts.assign(network_.circuit().loom->parts.size(), 0);
  cone.clusters.assign(clusters_, 0);
  std::vector<int> queue;
  const Circuit& circuit = network_.circuit();
  for (const Target& t : targets) {
    Condition c;
    c.index = t.index;
    switch (t.what) {
      case Target::What::output:
        c.op = Condition::Op::output;
        break;
      case Target::What::input:
        c.op = Condition::Op::input;
        break;
      case Target::What::coil:
        c.op = Condition::Op::coil;
        break;
      case Target::What::node:
        take_node(static_cast<int>(t.index), cone, queue);
        continue;
    }
    take(c, PartIndex{0}, cone, queue);
  }
  // What feeds the stiff nodes: sources that are switched, converters with what commands and feeds them.
  for (const Source& s : all_.sources) {
    if (s.zone != Zone::signal) take(s.when, s.part, cone, queue);
  }
  for (const Converter& c : all_.converters) {
    take(c.when, c.part, cone, queue);
    take_node(circuit.node(c.in_pos), cone, queue);
    take_node(circuit.node(c.in_neg), cone, queue);
  }
  close(cone, queue);
  return cone;
}

Cones::Cone Cones::of_fault() const {
  Cone cone;
  cone.parts.assign(network_.circuit().loom->parts.size(), 0);
  cone.clusters.assign(clusters_, 0);
  std::vector<int> queue;
  for (int c : touched_) {
    if (cone.clusters[c] != 0) continue;
    cone.clusters[c] = 1;
    queue.push_back(c);
  }
  close(cone, queue);
  return cone;
}

}  // namespace loomproof
