// One island of the circuit as a linear network: conductances and pushed currents in, voltages and pieces out.
#include "solve/island.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <unordered_map>
#include <utility>

#include "solve/union_find.h"

namespace loomproof {
namespace {

std::vector<std::pair<int, int>> edges_of(const std::vector<int>& nodes, const std::vector<IslandLink>& links) {
  std::unordered_map<int, int> local;
  for (std::size_t i = 0; i < nodes.size(); ++i) local[nodes[i]] = static_cast<int>(i);
  std::vector<std::pair<int, int>> edges;
  for (const IslandLink& link : links) edges.emplace_back(local.at(link.a), local.at(link.b));
  return edges;
}

// Joints of three and more branches stay with the watched nodes: eliminated before them they would tie all of these to
// one another. A seldom link makes no joint: it has one end in common with all the others.
std::vector<char> late_of(const std::vector<int>& nodes, const std::vector<char>& watched,
                          const std::vector<std::pair<int, int>>& edges, const std::vector<IslandLink>& links) {
  std::vector<std::vector<int>> beside(nodes.size());
  for (std::size_t j = 0; j < edges.size(); ++j) {
    if (links[j].seldom) continue;
    const auto& [a, b] = edges[j];
    beside[a].push_back(b);
    beside[b].push_back(a);
  }
  std::vector<char> late(nodes.size(), 0);
  for (std::size_t i = 0; i < nodes.size(); ++i) {
    std::sort(beside[i].begin(), beside[i].end());
    const auto others = std::unique(beside[i].begin(), beside[i].end()) - beside[i].begin();
    late[i] = watched[nodes[i]] != 0 || others > 2 ? 1 : 0;
  }
  return late;
}

// Where the seldom links meet: the frame.
int hub_of(std::size_t nodes, const std::vector<std::pair<int, int>>& edges, const std::vector<IslandLink>& links) {
  std::vector<int> met(nodes, 0);
  for (std::size_t j = 0; j < edges.size(); ++j) {
    if (links[j].seldom) ++met[edges[j].first], ++met[edges[j].second];
  }
  const auto most = std::max_element(met.begin(), met.end());
  return most == met.end() || *most == 0 ? -1 : static_cast<int>(most - met.begin());
}

Elimination elimination_of(const std::vector<int>& nodes, const std::vector<char>& watched,
                           const std::vector<IslandLink>& links) {
  const auto edges = edges_of(nodes, links);
  auto late = late_of(nodes, watched, edges, links);
  const int hub = hub_of(nodes.size(), edges, links);
  if (hub >= 0) late[hub] = 1;
  std::vector<char> core(nodes.size(), 0);
  for (std::size_t j = 0; j < edges.size(); ++j) {
    if (links[j].pushes) core[edges[j].first] = core[edges[j].second] = 1;
  }
  return Elimination(late, core, edges, hub);
}

}  // namespace

Island::Island(std::vector<int> nodes, const std::vector<char>& watched, const std::vector<IslandLink>& links,
               const std::vector<int>& ground_rank)
    : nodes_(std::move(nodes)), elimination_(elimination_of(nodes_, watched, links)) {
  std::vector<int> by_step;
  std::unordered_map<int, int> step_of;
  for (int local : elimination_.order()) {
    step_of[nodes_[local]] = static_cast<int>(by_step.size());
    by_step.push_back(nodes_[local]);
  }
  nodes_ = std::move(by_step);
  by_rank_.resize(nodes_.size());
  std::iota(by_rank_.begin(), by_rank_.end(), 0);
  std::sort(by_rank_.begin(), by_rank_.end(), [&](int a, int b) {
    return std::pair(ground_rank[nodes_[a]], nodes_[a]) < std::pair(ground_rank[nodes_[b]], nodes_[b]);
  });
  for (std::size_t j = 0; j < links.size(); ++j) {
    const int a = step_of.at(links[j].a);
    const int b = step_of.at(links[j].b);
    ends_.push_back({a, b, elimination_.slot(a, b), links[j].lasting, links[j].seldom});
    if (a == b) continue;  // carries nothing that another branch could feel
    if (links[j].pushes) pushing_.push_back(j);
    const std::size_t slots = std::max({ends_[j].slot, static_cast<std::size_t>(a), static_cast<std::size_t>(b)}) + 1;
    if (terms_.size() < slots) terms_.resize(slots);
    terms_[a].push_back({j, 1});
    terms_[b].push_back({j, 1});
    terms_[ends_[j].slot].push_back({j, -1});
  }
  terms_.resize(std::max(terms_.size(), nodes_.size()));
  is_touched_.assign(terms_.size(), 0);
  conductance_.assign(links.size(), 0);
  push_.assign(links.size(), 0);
  v_.assign(nodes_.size(), 0);
  grounded_.assign(nodes_.size(), 0);
}

void Island::set_lasting(std::size_t link, bool lasting) {
  if (ends_[link].lasting == lasting) return;
  ends_[link].lasting = lasting;
  clusters_stale_ = pieces_stale_ = true;
}

void Island::set_laid(std::size_t link, bool laid) {
  if (ends_[link].away != laid) return;
  ends_[link].away = !laid;
  clusters_stale_ = pieces_stale_ = true;
}

void Island::find_clusters() {
  clusters_stale_ = false;
  cluster_.assign(nodes_.size(), -1);
  cluster_top_.clear();
  changing_.clear();
  std::vector<int> up(nodes_.size());
  std::iota(up.begin(), up.end(), 0);
  for (const Ends& ends : ends_) {
    if (ends.lasting) up[top(up, ends.a)] = top(up, ends.b);
  }
  std::vector<int> number(nodes_.size(), -1);
  for (int step : by_rank_) {
    int& cluster = number[top(up, step)];
    if (cluster < 0) {
      cluster = static_cast<int>(cluster_top_.size());
      cluster_top_.push_back(step);
    }
    cluster_[step] = cluster;
  }
  for (std::size_t j = 0; j < ends_.size(); ++j) {
    const Ends& ends = ends_[j];
    if (!ends.lasting && !ends.away && cluster_[ends.a] != cluster_[ends.b])
      changing_.push_back({j, cluster_[ends.a], cluster_[ends.b]});
  }
  up_.resize(cluster_top_.size());
  top_.assign(cluster_top_.size(), -1);
  for (std::size_t i = 0; i < grounded_.size(); ++i) {
    if (std::exchange(grounded_[i], char{0}) != 0) touch(i);
  }
}

void Island::touch(std::size_t slot) {
  if (is_touched_[slot] != 0) return;
  is_touched_[slot] = 1;
  touched_.push_back(slot);
  matrix_stale_ = true;
}

void Island::change_conductance(std::size_t link, double siemens) {
  const Ends& ends = ends_[link];
  if ((conductance_[link] > 0) != (siemens > 0) && !ends.lasting) pieces_stale_ = true;
  conductance_[link] = siemens;
  if (ends.a == ends.b) return;
  touch(static_cast<std::size_t>(ends.a));
  touch(static_cast<std::size_t>(ends.b));
  touch(ends.slot);
}

void Island::find_pieces() {
  if (clusters_stale_) find_clusters();
  std::iota(up_.begin(), up_.end(), 0);
  for (const Changing& link : changing_) {
    if (!(conductance_[link.link] > 0)) continue;
    const int a = top(up_, link.a), b = top(up_, link.b);
    up_[std::max(a, b)] = std::min(a, b);
  }
  for (int& up : up_) up = up_[up];  // what stands above it has come to the top already
  find_tops();
}

// After up_: which node is the 0 V of each piece.
void Island::find_tops() {
  pieces_stale_ = false;
  for (std::size_t c = 0; c < up_.size(); ++c) {
    const int now = cluster_top_[up_[c]];
    if (now == top_[c]) continue;
    pieces_moved_ = true;
    top_[c] = now;
    const int own = cluster_top_[c];
    const char grounded = now == own ? 1 : 0;
    if (grounded_[own] == grounded) continue;
    grounded_[own] = grounded;
    touch(static_cast<std::size_t>(own));
  }
}

// Clusters hang together by links that shift neither against the other, or an idle one that draws its ends together.
void Island::find_shifts(const double* known, const std::vector<char>& is_idle) {
  if (clusters_stale_) find_clusters();
  std::iota(up_.begin(), up_.end(), 0);
  shift_.assign(up_.size(), 0);  // against the one above, until all is joined
  const auto climb = [&](int c, double& shift) {
    for (shift = 0; up_[c] != c; c = up_[c]) {
      const int above = up_[c];
      if (up_[above] != above) {
        shift_[c] += shift_[above];
        up_[c] = up_[above];
      }
      shift += shift_[c];
    }
    return c;
  };
  for (const Changing& link : changing_) {
    if (!(conductance_[link.link] > 0)) continue;
    double of_a = 0, of_b = 0;
    const int a = climb(link.a, of_a), b = climb(link.b, of_b);
    if (a == b) continue;
    const Ends& ends = ends_[link.link];
    const double apart = is_idle[link.link] != 0 ? known[nodes_[ends.a]] - known[nodes_[ends.b]] : 0;
    const double b_against_a = apart + of_a - of_b;
    up_[std::max(a, b)] = std::min(a, b);
    shift_[std::max(a, b)] = a < b ? b_against_a : -b_against_a;
  }
  // Numbers fall on the way up, and what is above is already done.
  for (std::size_t c = 0; c < up_.size(); ++c) {
    if (up_[c] == static_cast<int>(c)) {
      shift_[c] = -known[nodes_[cluster_top_[c]]];
    } else {
      shift_[c] += shift_[up_[c]];
      up_[c] = up_[up_[c]];
    }
  }
  find_tops();
}

void Island::carry_over(const double* known, const std::vector<char>& is_idle, std::vector<double>& v,
                        std::vector<int>& piece) {
  find_shifts(known, is_idle);
  for (std::size_t i = 0; i < nodes_.size(); ++i) {
    const int cluster = cluster_[i];
    v[nodes_[i]] = known[nodes_[i]] + shift_[cluster];
    piece[nodes_[i]] = nodes_[top_[cluster]];
  }
}

// Every touched value is summed afresh and in the same order, so that it does not depend on what it was before.
void Island::fill_matrix() {
  matrix_stale_ = false;
  for (std::size_t slot : touched_) {
    is_touched_[slot] = 0;
    double sum = slot < grounded_.size() && grounded_[slot] != 0 ? 1 : 0;
    for (const Term& term : terms_[slot]) sum += term.sign * conductance_[term.link];
    elimination_.set(slot, sum);
  }
  touched_.clear();
}

bool Island::solve() {
  pieces_moved_ = false;
  if (!is_stale()) return false;
  if (pieces_stale_) find_pieces();
  if (!matrix_stale_ && !pushes_stale_) return pieces_moved_;
  pushes_stale_ = false;
  const bool was_alive = std::exchange(alive_, false);
  for (std::size_t j : pushing_) alive_ |= push_[j] != 0;
  if (alive_ || was_alive) std::fill(v_.begin() + first_watched(), v_.end(), 0.0);
  if (alive_ || was_alive) watched_stale_ = rest_stale_ = true;
  if (!alive_) return was_alive || pieces_moved_;  // its matrix waits until something drives it
  for (std::size_t j : pushing_) {
    v_[ends_[j].a] += push_[j];
    v_[ends_[j].b] -= push_[j];
  }
  if (matrix_stale_) fill_matrix();
  elimination_.solve_core(v_);
  return true;
}

bool Island::solve_watched() {
  if (!std::exchange(watched_stale_, false)) return false;
  if (alive_) elimination_.solve_late(v_);  // else they are 0 since solve()
  return true;
}

void Island::solve_rest() {
  if (!rest_stale_) return;
  rest_stale_ = false;
  if (alive_) {
    elimination_.solve_rest(v_);
  } else {
    std::fill(v_.begin(), v_.begin() + first_watched(), 0.0);
  }
}

double Island::ground_current() const {
  double most = 0;
  for (int c : top_) most = std::max(most, std::fabs(v_[c]));
  return most;
}

}  // namespace loomproof
