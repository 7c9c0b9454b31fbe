// Minimum degree order, left-looking columns, and only those that a change has reached.
#include "solve/fault_elimination.h"

#include <algorithm>
#include <set>

namespace loomproof {
namespace {

// Eliminates the node with the fewest neighbours, again and again; returns each column's rows as nodes.
std::vector<std::vector<int>> eliminate(std::vector<std::set<int>> near, int last, std::vector<int>& order) {
  const int n = static_cast<int>(near.size());
  std::vector<std::vector<int>> rows(near.size());
  std::set<std::pair<std::size_t, int>> queue;
  const auto degree = [&](int i) {
    return i == last ? near.size() + 1 : near[i].size() - (last >= 0 ? near[i].count(last) : 0);
  };
  for (int i = 0; i < n; ++i) queue.insert({degree(i), i});
  while (!queue.empty()) {
    const int i = queue.begin()->second;
    queue.erase(queue.begin());
    order.push_back(i);
    rows[i].assign(near[i].begin(), near[i].end());
    for (int j : rows[i]) queue.erase({degree(j), j});
    for (int j : rows[i]) {
      near[j].erase(i);
      for (int k : rows[i]) {
        if (k != j) near[j].insert(k);
      }
    }
    for (int j : rows[i]) queue.insert({degree(j), j});
    near[i].clear();
  }
  return rows;
}

}  // namespace

FaultElimination::FaultElimination(int nodes, const std::vector<std::pair<int, int>>& edges, int last) : nodes_(nodes) {
  std::vector<std::set<int>> near(nodes);
  for (const auto& [a, b] : edges) {
    if (a == b) continue;
    near[a].insert(b);
    near[b].insert(a);
  }
  std::vector<std::vector<int>> rows = eliminate(std::move(near), last, node_);
  place_.resize(nodes);
  for (int c = 0; c < nodes; ++c) place_[node_[c]] = c;
  std::vector<std::vector<std::pair<int, std::uint32_t>>> by_row(nodes);
  for (int c = 0; c < nodes; ++c) {
    col_.push_back(static_cast<std::uint32_t>(row_.size()));
    std::vector<int>& mine = rows[node_[c]];
    for (int& i : mine) i = place_[i];
    std::sort(mine.begin(), mine.end());
    for (int r : mine) {
      by_row[r].emplace_back(c, static_cast<std::uint32_t>(row_.size()));
      row_.push_back(r);
    }
  }
  col_.push_back(static_cast<std::uint32_t>(row_.size()));
  for (const auto& list : by_row) {
    in_row_.push_back(static_cast<std::uint32_t>(contribution_.size()));
    contribution_.insert(contribution_.end(), list.begin(), list.end());
  }
  in_row_.push_back(static_cast<std::uint32_t>(contribution_.size()));
  for (const auto& [a, b] : edges) {
    const auto [c, r] = std::minmax(place_[a], place_[b]);
    const auto from = row_.begin() + col_[c];
    const auto to = row_.begin() + col_[c + 1];
    edge_entry_.push_back(c == r ? -1 : std::lower_bound(from, to, r) - row_.begin());
  }
  diagonal_.assign(nodes, 1);
  off_.assign(row_.size(), 0);
  d_.assign(nodes, 1);
  inverse_.assign(nodes, 1);
  l_.assign(row_.size(), 0);
  dirty_.assign(nodes, 1);
  work_.assign(nodes, 0);
  y_.assign(nodes, 0);
}

void FaultElimination::set_diagonal(int node, double value) {
  const int c = place_[node];
  if (diagonal_[c] == value) return;
  diagonal_[c] = value;
  dirty_[c] = 1;
}

void FaultElimination::set_edge(std::size_t edge, double value) {
  const std::int64_t entry = edge_entry_[edge];
  if (entry < 0 || off_[entry] == value) return;
  off_[entry] = value;
  const auto c = std::upper_bound(col_.begin(), col_.end(), static_cast<std::uint32_t>(entry)) - col_.begin() - 1;
  dirty_[c] = 1;
}

void FaultElimination::factor() {
  for (int c = 0; c < nodes_; ++c) {
    if (dirty_[c] == 0) continue;
    dirty_[c] = 0;
    const std::uint32_t from = col_[c], to = col_[c + 1];
    double pivot = diagonal_[c];
    for (std::uint32_t q = from; q < to; ++q) work_[row_[q]] = off_[q];
    for (std::uint32_t i = in_row_[c]; i < in_row_[c + 1]; ++i) {
      const auto [k, entry] = contribution_[i];
      if (l_[entry] == 0) continue;
      const double f = l_[entry] * d_[k];
      pivot -= l_[entry] * f;
      for (std::uint32_t q = entry + 1; q < col_[k + 1]; ++q) work_[row_[q]] -= l_[q] * f;
    }
    d_[c] = pivot;
    inverse_[c] = 1 / pivot;
    for (std::uint32_t q = from; q < to; ++q) l_[q] = work_[row_[q]] * inverse_[c];
    if (from < to) dirty_[row_[from]] = 1;
  }
}

void FaultElimination::solve(std::vector<double>& rhs) {
  for (int c = 0; c < nodes_; ++c) y_[c] = rhs[node_[c]];
  for (int c = 0; c < nodes_; ++c) {
    const double y = y_[c];
    if (y == 0) continue;
    for (std::uint32_t q = col_[c]; q < col_[c + 1]; ++q) y_[row_[q]] -= l_[q] * y;
  }
  for (int c = nodes_ - 1; c >= 0; --c) {
    double y = y_[c] * inverse_[c];
    for (std::uint32_t q = col_[c]; q < col_[c + 1]; ++q) y -= l_[q] * y_[row_[q]];
    y_[c] = y;
    rhs[node_[c]] = y;
  }
}

}  // namespace loomproof
