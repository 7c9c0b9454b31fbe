// LDL^T of a symmetric matrix whose pattern never changes, done again only where its values did.
#include "solve/elimination.h"

#include <algorithm>
#include <iterator>

#include <Eigen/OrderingMethods>
#include <Eigen/SparseCore>

namespace loomproof {
namespace {

using Edges = std::vector<std::pair<int, int>>;

std::vector<int> least_fill_order(int n, const Edges& edges) {
  std::vector<Eigen::Triplet<double>> entries;
  for (int i = 0; i < n; ++i) entries.emplace_back(i, i, 1.0);
  for (const auto& [a, b] : edges) {
    if (a == b) continue;
    entries.emplace_back(a, b, 1.0);
    entries.emplace_back(b, a, 1.0);
  }
  Eigen::SparseMatrix<double> pattern(n, n);
  pattern.setFromTriplets(entries.begin(), entries.end());
  Eigen::AMDOrdering<int>::PermutationType permutation;
  Eigen::AMDOrdering<int>()(pattern, permutation);
  std::vector<int> order(static_cast<std::size_t>(n));
  for (int i = 0; i < n; ++i) order[i] = permutation.size() == n ? permutation.indices()[i] : i;
  return order;
}

// What eliminating the early rows in this order leaves among the late ones.
Edges edges_left(const std::vector<int>& early, const std::vector<char>& late, const Edges& edges) {
  Edges left;
  std::vector<std::vector<int>> beside(late.size());  // of early rows only
  const auto join = [&](int a, int b) {
    if (late[a] == 0) beside[a].push_back(b);
    if (late[b] == 0) beside[b].push_back(a);
    if (late[a] != 0 && late[b] != 0) left.emplace_back(a, b);
  };
  for (const auto& [a, b] : edges) {
    if (a != b) join(a, b);
  }
  std::vector<char> done(late.size(), 0);
  for (int i : early) {
    done[i] = 1;
    std::vector<int> near = std::move(beside[i]);
    std::erase_if(near, [&](int j) { return done[j] != 0; });
    std::sort(near.begin(), near.end());
    near.erase(std::unique(near.begin(), near.end()), near.end());
    for (std::size_t p = 0; p < near.size(); ++p) {
      for (std::size_t q = p + 1; q < near.size(); ++q) join(near[p], near[q]);
    }
  }
  return left;
}

// The hub goes last whatever its degree; the early rows' order is that of least fill without it, and so is that of the
// late ones once the early are gone.
std::vector<int> order_round_hub(const std::vector<char>& late, Edges edges, int hub) {
  std::erase_if(edges, [&](const auto& e) { return e.first == hub || e.second == hub; });
  std::vector<int> order = least_fill_order(static_cast<int>(late.size()), edges);
  std::erase_if(order, [&](int row) { return late[row] != 0; });
  Edges left = edges_left(order, late, edges);
  std::vector<int> late_rows, number(late.size(), -1);
  for (std::size_t i = 0; i < late.size(); ++i) {
    if (late[i] == 0 || static_cast<int>(i) == hub) continue;
    number[i] = static_cast<int>(late_rows.size());
    late_rows.push_back(static_cast<int>(i));
  }
  for (auto& [a, b] : left) a = number[a], b = number[b];
  for (int i : least_fill_order(static_cast<int>(late_rows.size()), left)) order.push_back(late_rows[i]);
  order.push_back(hub);
  return order;
}

std::vector<int> order_of(const std::vector<char>& late, const Edges& edges, int hub) {
  if (hub >= 0) return order_round_hub(late, edges, hub);
  std::vector<int> order = least_fill_order(static_cast<int>(late.size()), edges);
  std::stable_partition(order.begin(), order.end(), [&](int row) { return late[row] == 0; });
  return order;
}

}  // namespace

Elimination::Elimination(const std::vector<char>& late, const std::vector<char>& core,
                         const std::vector<std::pair<int, int>>& edges, int hub)
    : n_(static_cast<int>(late.size())), order_(order_of(late, edges, hub)) {
  first_late_ = static_cast<int>(std::count(late.begin(), late.end(), char{0}));
  std::vector<int> step(n_);
  for (int i = 0; i < n_; ++i) step[order_[i]] = i;
  // Column j: its own entries and what every column whose parent it is leaves behind.
  std::vector<std::vector<int>> below(n_);
  for (const auto& [a, b] : edges) {
    if (a != b) below[std::min(step[a], step[b])].push_back(std::max(step[a], step[b]));
  }
  parent_.assign(n_, -1);
  std::vector<std::vector<unsigned>> in_row(n_);  // entries of earlier columns in this row
  for (int j = 0; j < n_; ++j) {
    std::vector<int>& rows = below[j];
    std::sort(rows.begin(), rows.end());
    rows.erase(std::unique(rows.begin(), rows.end()), rows.end());
    start_.push_back(static_cast<unsigned>(row_.size()));
    for (int r : rows) {
      in_row[r].push_back(static_cast<unsigned>(row_.size()));
      row_.push_back(r);
      column_.push_back(j);
    }
    if (rows.empty()) continue;
    parent_[j] = rows.front();
    below[parent_[j]].insert(below[parent_[j]].end(), rows.begin() + 1, rows.end());
  }
  start_.push_back(static_cast<unsigned>(row_.size()));
  std::vector<unsigned> place(n_);  // by row: its entry in the column under way
  for (int j = 0; j < n_; ++j) {
    first_update_.push_back(static_cast<unsigned>(updates_.size()));
    first_in_row_.push_back(static_cast<unsigned>(in_row_.size()));
    in_row_.insert(in_row_.end(), in_row[j].begin(), in_row[j].end());
    for (unsigned p = start_[j]; p < start_[j + 1]; ++p) place[row_[p]] = p;
    for (unsigned p : in_row[j]) {
      for (unsigned q = p + 1; q < start_[column_[p] + 1]; ++q) updates_.push_back({place[row_[q]], p, q});
    }
  }
  first_update_.push_back(static_cast<unsigned>(updates_.size()));
  first_in_row_.push_back(static_cast<unsigned>(in_row_.size()));
  value_.assign(n_ + row_.size(), 0);
  entry_.assign(row_.size(), 0);
  lower_.assign(row_.size(), 0);
  diagonal_.assign(n_, 0);
  stale_.assign(n_, 1);
  find_core(core);
}

// A right-hand side reaches what lies above it in the elimination tree, and a solution needs no more than that.
void Elimination::find_core(const std::vector<char>& core) {
  std::vector<char> is(n_, 0);
  for (int j = 0; j < n_; ++j) {
    is[j] |= core[order_[j]];
    if (is[j] != 0 && parent_[j] >= 0) is[parent_[j]] = 1;
  }
  for (int j = first_late_; j < n_; ++j) (is[j] != 0 ? core_ : late_only_).push_back(j);
}

std::size_t Elimination::slot(int a, int b) const {
  if (a == b) return static_cast<std::size_t>(a);
  const auto [column, row] = std::minmax(a, b);
  const auto end = row_.begin() + static_cast<std::ptrdiff_t>(start_[column + 1]);
  const auto found = std::lower_bound(row_.begin() + static_cast<std::ptrdiff_t>(start_[column]), end, row);
  return static_cast<std::size_t>(n_) + static_cast<std::size_t>(std::distance(row_.begin(), found));
}

void Elimination::set(std::size_t slot, double value) {
  if (value_[slot] == value) return;
  value_[slot] = value;
  const auto n = static_cast<std::size_t>(n_);
  stale_[slot < n ? slot : static_cast<std::size_t>(column_[slot - n])] = 1;
  any_stale_ = true;
}

void Elimination::factorise() {
  const double* given = value_.data() + n_;
  double* entry = entry_.data();
  double* lower = lower_.data();
  const auto is_stale = [](char c) { return c != 0; };
  for (auto at = stale_.begin(); (at = std::find_if(at, stale_.end(), is_stale)) != stale_.end(); ++at) {
    const int j = static_cast<int>(at - stale_.begin());
    stale_[j] = 0;
    if (parent_[j] >= 0) stale_[parent_[j]] = 1;
    const unsigned first = start_[j], end = start_[j + 1];
    double diagonal = value_[j];
    for (unsigned i = first_in_row_[j]; i < first_in_row_[j + 1]; ++i)
      diagonal -= lower[in_row_[i]] * entry[in_row_[i]];
    diagonal_[j] = diagonal;
    for (unsigned p = first; p < end; ++p) entry[p] = given[p];
    for (unsigned u = first_update_[j]; u < first_update_[j + 1]; ++u) {
      const Update& update = updates_[u];
      entry[update.dest] -= lower[update.factor] * entry[update.of];
    }
    // Divided, not multiplied by an inverse: a wire that leads nowhere then has exactly one voltage at both ends.
    for (unsigned p = first; p < end; ++p) lower[p] = entry[p] / diagonal;
  }
  any_stale_ = false;
}

inline double Elimination::solved(const double* x, int j, double sum) const {
  const double* lower = lower_.data() + start_[j];
  const double* end = lower_.data() + start_[j + 1];
  for (const int* row = row_.data() + start_[j]; lower != end; ++lower, ++row) sum -= *lower * x[*row];
  return sum;
}

void Elimination::solve_core(std::vector<double>& all) {
  if (any_stale_) factorise();
  double* const x = all.data();
  const double* const lower = lower_.data();
  const int* const row = row_.data();
  for (int j : core_) {
    const double y = x[j];
    if (y == 0) continue;
    for (unsigned p = start_[j], end = start_[j + 1]; p < end; ++p) x[row[p]] -= lower[p] * y;
    x[j] = y / diagonal_[j];
  }
  for (auto j = core_.rbegin(); j != core_.rend(); ++j) x[*j] = solved(x, *j, x[*j]);
}

void Elimination::solve_late(std::vector<double>& x) const {
  for (auto j = late_only_.rbegin(); j != late_only_.rend(); ++j) x[*j] = solved(x.data(), *j, 0);
}

void Elimination::solve_rest(std::vector<double>& x) const {
  for (int j = first_late_ - 1; j >= 0; --j) x[j] = solved(x.data(), j, 0);
}

}  // namespace loomproof
