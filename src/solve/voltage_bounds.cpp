// Blocks over clumps of wire.
#include "solve/voltage_bounds.h"

#include <algorithm>
#include <numeric>
#include <utility>

#include "solve/infinite.h"
#include "solve/line_limits.h"
#include "solve/union_find.h"

namespace loomproof {
namespace {

// A wire longer or thinner than that has its own say in what its ends see.
constexpr double most_clump_ohm = 0.1;

}  // namespace

VoltageBounds::VoltageBounds(const Circuit& circuit, const FaultLines& lines)
    : circuit_(circuit), lines_(lines), walk_(0), nodes_walk_(static_cast<std::size_t>(circuit.nodes)) {
  const auto nodes = static_cast<std::size_t>(circuit_.nodes);
  const auto& contacts = circuit_.loom->elements.contacts;
  wiring_.resize(nodes);
  up_.resize(nodes);
  clump_of_.resize(nodes);
  volts_.resize(nodes);
  is_wiring_.assign(lines_.all.size(), 0);
  is_fuse_.assign(lines_.all.size(), 0);
  joined_.resize(lines_.all.size());
  carries_a_.resize(lines_.all.size());
  for (std::size_t l = 0; l < lines_.all.size(); ++l) nodes_walk_.add(lines_.all[l].a, lines_.all[l].b, l);
  for (std::size_t l = 0; l < lines_.first_bridge; ++l) {
    const FaultLine& line = lines_.all[l];
    if (line.ohm > most_clump_ohm) continue;
    bool is_fuse = false;
    if (lines_.is_branch(l)) {
      const Branch& b = circuit_.branches[l];
      const bool joint = b.type == BranchType::contact && contacts[b.index].closed_when.op == Condition::Op::always;
      is_fuse = b.type == BranchType::fuse;
      if (b.type != BranchType::wire && b.type != BranchType::resistance && !joint && !is_fuse) continue;
    }
    (is_fuse ? is_fuse_ : is_wiring_)[l] = 1;
    wiring_[line.a].push_back({line.b, l, line.ohm});
    wiring_[line.b].push_back({line.a, l, line.ohm});
  }
}

void VoltageBounds::join(std::size_t line) {
  joined_[line] = 1;
  up_[top(up_, lines_.all[line].a)] = top(up_, lines_.all[line].b);
}

void VoltageBounds::number_clumps() {
  int clumps = 0;
  std::fill(clump_of_.begin(), clump_of_.end(), -1);
  for (std::size_t n = 0; n < up_.size(); ++n) {
    int& mine = clump_of_[top(up_, static_cast<int>(n))];
    if (mine < 0) mine = clumps++;
  }
  for (std::size_t n = 0; n < up_.size(); ++n) clump_of_[n] = clump_of_[top(up_, static_cast<int>(n))];
  clumps_.assign(clumps, {});
}

// What a wire carries at most, as far as the wires branch like a tree: what all that lies beyond it lets pass. A fuse
// that this cannot open is as good as a wire.
void VoltageBounds::limit_wires(bool fuses_open) {
  passes_.assign(up_.size(), 0);  // by node: all at it and beyond it
  ways_left_.assign(up_.size(), 0);
  for (std::size_t l = 0; l < lines_.all.size(); ++l) {
    if ((*there_)[l] == 0) continue;
    const double amps =
        is_wiring_[l] != 0 || is_fuse_[l] != 0 ? 0 : passes_a(circuit_, lines_, l, all_lifts_v_, fuses_open);
    for (int n : {lines_.all[l].a, lines_.all[l].b}) {
      if (is_wiring_[l] != 0 || is_fuse_[l] != 0) {
        ++ways_left_[n];
      } else {
        passes_[n] += amps;
      }
    }
  }
  limited_.assign(lines_.all.size(), 0);
  queue_.clear();
  for (std::size_t n = 0; n < ways_left_.size(); ++n) {
    if (ways_left_[n] == 1) queue_.push_back(static_cast<int>(n));
  }
  for (std::size_t q = 0; q < queue_.size(); ++q) {
    const int n = queue_[q];
    for (const Way& w : wiring_[n]) {
      if ((*there_)[w.line] == 0 || limited_[w.line] != 0 || ways_left_[n] == 0) continue;
      limited_[w.line] = 1;
      carries_a_[w.line] = passes_[n];
      passes_[w.to] += is_fuse_[w.line] != 0
                           ? std::min(passes_[n], passes_a(circuit_, lines_, w.line, all_lifts_v_, fuses_open))
                           : passes_[n];
      ways_left_[n] = 0;
      if (--ways_left_[w.to] == 1) queue_.push_back(w.to);
    }
  }
  for (const std::size_t l : lines_.fuse) {
    if (is_fuse_[l] == 0 || (*there_)[l] == 0) continue;
    const Datum& rated_a = circuit_.loom->elements.fuses[circuit_.branches[l].index].rated_a;
    if (!fuses_open || (rated_a && carries_a_[l] < 0.99 * fuse_opens_at * *rated_a)) join(l);
  }
}

// No more than what else is at its pole lets pass.
void VoltageBounds::limit_sources(bool fuses_open) {
  source_a_.assign(between_.size(), 0);
  lifts_.resize(between_.size());
  struct Pole {
    double passes_a = 0;
    int sources = 0;
  };
  std::vector<Pole> poles(clumps_.size());
  for (std::size_t i = 0; i < between_.size(); ++i) {
    const std::size_t l = between_[i].line;
    lifts_[i] = lift_v(circuit_, lines_, l);
    if (lifts_[i] > 0) source_a_[i] = gives_a(circuit_, lines_, l);
    for (int c : {between_[i].a, between_[i].b}) {
      if (lifts_[i] > 0) {
        ++poles[c].sources;
      } else {
        poles[c].passes_a += passes_a(circuit_, lines_, l, all_lifts_v_, fuses_open);
      }
    }
  }
  for (std::size_t i = 0; i < between_.size(); ++i) {
    for (int c : {between_[i].a, between_[i].b}) {
      if (poles[c].sources == 1) source_a_[i] = std::min(source_a_[i], poles[c].passes_a);
    }
  }
}

void VoltageBounds::begin(const std::vector<char>& there, bool fuses_open) {
  there_ = &there;
  all_lifts_v_ = 0;
  std::iota(up_.begin(), up_.end(), 0);
  std::fill(joined_.begin(), joined_.end(), char{0});
  std::fill(carries_a_.begin(), carries_a_.end(), infinite);
  for (std::size_t l = 0; l < lines_.all.size(); ++l) {
    if (there[l] == 0) continue;
    all_lifts_v_ += lift_v(circuit_, lines_, l);
    if (is_wiring_[l] != 0) join(l);
  }
  limit_wires(fuses_open);
  number_clumps();
  flow_up_.resize(clumps_.size());
  between_.clear();
  walk_.reset(clumps_.size());
  for (std::size_t l = 0; l < lines_.all.size(); ++l) {
    if (joined_[l] != 0 || there[l] == 0) continue;
    const int a = clump_of_[lines_.all[l].a], b = clump_of_[lines_.all[l].b];
    if (a == b && lift_v(circuit_, lines_, l) == 0) continue;
    walk_.add(a, b, between_.size());
    between_.push_back({l, a, b});
  }
  on_.resize(between_.size());
  block_of_.resize(between_.size());
  limit_sources(fuses_open);
  looked_ = false;
}

// Current that a source drives comes back to it by way of blocks of two lines and more, and of clumps.
void VoltageBounds::close_block(const std::size_t* first, const std::size_t* last) {
  const int number = static_cast<int>(blocks_.size());
  Block& block = blocks_.emplace_back();
  block.first = block_lines_.size();
  block_lines_.insert(block_lines_.end(), first, last);
  block.last = block_lines_.size();
  double amps = 0;
  for (const std::size_t* i = first; i != last; ++i) {
    block_of_[*i] = number;
    block.live |= lifts_[*i] > 0;
    block.lift_v = std::max(block.lift_v, lifts_[*i]);
    amps += source_a_[*i];
  }
  const int at = between_[*first].a;
  for (const std::size_t* i = first; i != last; ++i) {
    for (int c : {between_[*i].a, between_[*i].b}) {
      clumps_[c].live |= block.live;
      if (block.is_bridge() || top(flow_up_, c) == top(flow_up_, at)) continue;
      clumps_[top(flow_up_, at)].amps += clumps_[top(flow_up_, c)].amps;
      flow_up_[top(flow_up_, c)] = top(flow_up_, at);
    }
  }
  if (!block.is_bridge()) clumps_[top(flow_up_, at)].amps += amps;
}

double VoltageBounds::amps_in(int clump) {
  return clumps_[top(flow_up_, clump)].amps;
}

// Dead blocks that meet where nothing is live share what they hang on.
void VoltageBounds::hang_dead_blocks() {
  block_up_.resize(blocks_.size());
  std::iota(block_up_.begin(), block_up_.end(), 0);
  for (std::size_t k = 0; k < blocks_.size(); ++k) {
    if (blocks_[k].live) continue;
    for (std::size_t i = blocks_[k].first; i < blocks_[k].last; ++i) {
      for (int c : {between_[block_lines_[i]].a, between_[block_lines_[i]].b}) {
        if (clumps_[c].live) continue;
        int& at = clumps_[c].hanging;
        if (at < 0) at = static_cast<int>(k);
        block_up_[top(block_up_, static_cast<int>(k))] = top(block_up_, at);
      }
    }
  }
}

void VoltageBounds::look(const LogicState& possible) {
  possible_ = &possible;
  bool same = looked_;
  for (std::size_t i = 0; i < between_.size(); ++i) {
    const auto on = static_cast<char>(conducts(circuit_, lines_, between_[i].line, possible));
    same &= std::exchange(on_[i], on) == on;
  }
  if (!flows_.empty()) {
    // What lies within a clump may conduct otherwise, and flows tell that.
    for (Block& block : blocks_) block.spread_v = -1;
    flows_.clear();
  }
  if (same) return;
  looked_ = true;
  std::fill(clumps_.begin(), clumps_.end(), Clump{});
  std::iota(flow_up_.begin(), flow_up_.end(), 0);
  blocks_.clear();
  block_lines_.clear();
  for (std::size_t i = 0; i < between_.size(); ++i) {
    const Line& l = between_[i];
    if (l.a != l.b || on_[i] == 0) continue;
    clumps_[l.a].live = clumps_[l.a].shorted = true;
    clumps_[l.a].amps = infinite;
  }
  walk_.walk([&](std::size_t i) { return on_[i] != 0; }, [](int, int, std::size_t) {}, [](int, int, std::size_t) {},
             [&](std::size_t, const std::size_t* first, const std::size_t* last) { close_block(first, last); });
  hang_dead_blocks();
}

int VoltageBounds::node_at(std::size_t place, int clump) const {
  const Line& l = between_[place];
  return l.a == clump ? lines_.all[l.line].a : lines_.all[l.line].b;
}

// Wire by wire: what lies in no loop with a source carries nothing.
void VoltageBounds::find_flows() {
  flows_.assign(lines_.all.size(), 0);
  nodes_walk_.walk([&](std::size_t l) { return (*there_)[l] != 0 && conducts(circuit_, lines_, l, *possible_); },
                   [](int, int, std::size_t) {}, [](int, int, std::size_t) {},
                   [&](std::size_t, const std::size_t* first, const std::size_t* last) {
                     if (last - first == 1) return;
                     if (std::none_of(first, last, [&](std::size_t l) { return lift_v(circuit_, lines_, l) > 0; }))
                       return;
                     for (const std::size_t* l = first; l != last; ++l) flows_[*l] = 1;
                   });
}

double VoltageBounds::drop_v(const Way& w, double amps) const {
  return flows_.empty() || flows_[w.line] != 0 ? w.ohm * std::min(amps, carries_a_[w.line]) : 0;
}

// How far apart nodes of one clump can be: by way of the first of them, with all that may flow there.
double VoltageBounds::apart(int clump, std::vector<int> nodes) {
  std::sort(nodes.begin(), nodes.end());
  nodes.erase(std::unique(nodes.begin(), nodes.end()), nodes.end());
  const double amps = amps_in(clump);
  if (nodes.size() < 2 || amps == 0) return 0;
  std::fill(volts_.begin(), volts_.end(), -1);
  volts_[nodes[0]] = 0;
  queue_.assign(1, nodes[0]);
  for (std::size_t q = 0; q < queue_.size(); ++q) {
    for (const Way& w : wiring_[queue_[q]]) {
      if (volts_[w.to] >= 0 || joined_[w.line] == 0) continue;
      volts_[w.to] = volts_[queue_[q]] + drop_v(w, amps);
      queue_.push_back(w.to);
    }
  }
  double most = 0, second = 0;
  for (int n : nodes) {
    second = std::max(second, std::min(most, volts_[n]));
    most = std::max(most, volts_[n]);
  }
  return most + second;
}

// What dead blocks hang on, where they hang together.
VoltageBounds::Block& VoltageBounds::hanging(int block) {
  const int all = top(block_up_, block);
  Block& out = blocks_[all];
  if (out.spread_v >= 0) return out;
  std::vector<std::pair<int, int>> at;  // live clumps, and nodes in them
  for (std::size_t k = 0; k < blocks_.size(); ++k) {
    if (blocks_[k].live || top(block_up_, static_cast<int>(k)) != all) continue;
    for (std::size_t i = blocks_[k].first; i < blocks_[k].last; ++i) {
      const Line& l = between_[block_lines_[i]];
      for (int c : {l.a, l.b}) {
        if (clumps_[c].live) at.emplace_back(c, node_at(block_lines_[i], c));
      }
    }
  }
  std::sort(at.begin(), at.end());
  out.spread_v = 0;
  out.hangs_on = 0;
  for (std::size_t i = 0; i < at.size();) {
    std::vector<int> nodes;
    const int clump = at[i].first;
    for (; i < at.size() && at[i].first == clump; ++i) nodes.push_back(at[i].second);
    out.spread_v += apart(clump, std::move(nodes));
    ++out.hangs_on;
  }
  return out;
}

// Whether what else is at a clump moves the clump's nodes against one another: what only hangs there does not.
bool VoltageBounds::disturbs(int block) {
  if (blocks_[block].is_bridge()) return false;
  return blocks_[block].live || hanging(block).hangs_on > 1;
}

// Of a live block: its sources, by their negatives, and what other blocks do to the clumps that it shares with them.
double VoltageBounds::across(int number) {
  std::vector<std::pair<int, std::size_t>> by_negative;
  std::vector<int> clumps;
  double sum = 0;
  for (std::size_t i = blocks_[number].first; i < blocks_[number].last; ++i) {
    const Line& l = between_[block_lines_[i]];
    if (lifts_[block_lines_[i]] > 0) by_negative.emplace_back(l.b, block_lines_[i]);
    clumps.insert(clumps.end(), {l.a, l.b});
  }
  std::sort(by_negative.begin(), by_negative.end());
  for (std::size_t i = 0; i < by_negative.size();) {
    const int clump = by_negative[i].first;
    double most = 0;
    std::vector<int> nodes;
    for (; i < by_negative.size() && by_negative[i].first == clump; ++i) {
      most = std::max(most, lifts_[by_negative[i].second]);
      nodes.push_back(lines_.all[between_[by_negative[i].second].line].b);
    }
    sum += most + apart(clump, std::move(nodes));
  }
  std::sort(clumps.begin(), clumps.end());
  clumps.erase(std::unique(clumps.begin(), clumps.end()), clumps.end());
  std::vector<std::pair<int, int>> disturbed;
  for (std::size_t i = 0; i < between_.size(); ++i) {
    const Line& l = between_[i];
    if (on_[i] == 0 || l.a == l.b || block_of_[i] == number || !disturbs(block_of_[i])) continue;
    for (int c : {l.a, l.b}) {
      if (std::binary_search(clumps.begin(), clumps.end(), c)) disturbed.emplace_back(c, node_at(i, c));
    }
  }
  std::sort(disturbed.begin(), disturbed.end());
  for (std::size_t i = 0; i < disturbed.size();) {
    const int clump = disturbed[i].first;
    std::vector<int> nodes;
    for (; i < disturbed.size() && disturbed[i].first == clump; ++i) nodes.push_back(disturbed[i].second);
    sum += apart(clump, std::move(nodes));
  }
  for (int c : clumps) {
    if (clumps_[c].shorted) sum = infinite;
  }
  return sum;
}

// First as if every wire carried what it may at most, and only where that is too much with a look at which of them do.
double VoltageBounds::between(int a, int b, double enough) {
  if (a == b) return 0;
  const int clump = clump_of_[a];
  walk_.list_way(clump, clump_of_[b], way_);
  if (way_.empty() && clump != clump_of_[b]) return 0;
  for (std::size_t i : way_) {
    if (blocks_[block_of_[i]].lift_v > enough) return blocks_[block_of_[i]].lift_v;
  }
  const double rough = along_way(a, b);
  if (!(rough > enough) || !flows_.empty()) return rough;
  find_flows();
  for (Block& block : blocks_) block.spread_v = -1;
  return along_way(a, b);
}

// Nodes whose clumps the way joins; empty: one and the same clump.
double VoltageBounds::along_way(int a, int b) {
  int clump = clump_of_[a];
  if (way_.empty()) {
    if (clumps_[clump].live) return apart(clump, {a, b});
    return clumps_[clump].hanging < 0 ? 0 : hanging(clumps_[clump].hanging).spread_v;
  }
  double sum = 0;
  std::vector<int> counted;  // blocks
  int in = a;
  bool in_live = false;  // came here by a live block, whose bound holds for all nodes of the clump
  for (std::size_t i = 0; i <= way_.size(); ++i) {
    const bool ends = i == way_.size();
    const int out = ends ? b : node_at(way_[i], clump);
    const int block = ends ? -1 : block_of_[way_[i]];
    const bool out_live = !ends && blocks_[block].live;
    if (clumps_[clump].live && !in_live && !out_live) sum += apart(clump, {in, out});
    if (ends) break;
    const int one = out_live ? block : top(block_up_, block);
    if (std::find(counted.begin(), counted.end(), one) == counted.end()) {
      counted.push_back(one);
      sum += out_live ? across(block) : hanging(block).spread_v;
    }
    const Line& l = between_[way_[i]];
    clump = l.a == clump ? l.b : l.a;
    in = node_at(way_[i], clump);
    in_live = out_live;
  }
  return sum;
}

}  // namespace loomproof
