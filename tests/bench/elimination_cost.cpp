// What our elimination costs beside Eigen's sparse LDL^T with its pattern analysed once: why there is one of our own.
//
// Usage: elimination_cost ; a network of the size of a demo, two right-hand sides after each change.
#include <chrono>
#include <cstdio>
#include <random>
#include <utility>
#include <vector>

#include <Eigen/SparseCholesky>

#include "solve/elimination.h"

namespace {

using Clock = std::chrono::steady_clock;
using Edges = std::vector<std::pair<int, int>>;

constexpr int rows = 130;
constexpr int rounds = 20000;

// A tree with a few loops in it, as wiring is.
Edges wiring(std::mt19937& dice) {
  const auto below = [&](int n) { return static_cast<int>(dice() % static_cast<unsigned>(n)); };
  Edges edges;
  for (int i = 1; i < rows; ++i) edges.emplace_back(i, i < 20 || below(10) == 0 ? below(i) : i - 1);
  for (int k = 0; k < 25; ++k) {
    const int a = below(rows), b = below(rows);
    if (a != b) edges.emplace_back(a, b);
  }
  return edges;
}

// Changes one line or all of them, has the values set, and asks for two solutions; microseconds a round.
template <class Set, class Solve>
double cost_us(const Edges& edges, bool one_line, const Set& set, const Solve& solve) {
  std::mt19937 dice(7);
  std::vector<double> siemens(edges.size(), 1.0), diagonal(rows);
  const auto start = Clock::now();
  for (int round = 0; round < rounds; ++round) {
    const double now = round % 2 == 0 ? 0.5 : 100.0;
    const std::size_t first = one_line ? dice() % edges.size() : 0, end = one_line ? first + 1 : edges.size();
    for (std::size_t k = first; k < end; ++k) siemens[k] = now;
    diagonal.assign(rows, 1e-3);
    for (std::size_t k = 0; k < edges.size(); ++k) {
      diagonal[edges[k].first] += siemens[k];
      diagonal[edges[k].second] += siemens[k];
    }
    set(siemens, diagonal);
    solve();
    solve();
  }
  return std::chrono::duration<double, std::micro>(Clock::now() - start).count() / rounds;
}

}  // namespace

int main() {
  std::mt19937 dice(3);
  const Edges edges = wiring(dice);
  std::vector<char> late(rows, 0), core(rows, 0);
  for (int i = 0; i < rows; ++i) {
    late[i] = dice() % 2 == 0 ? 1 : 0;
    core[i] = late[i] != 0 && dice() % 3 == 0 ? 1 : 0;
  }
  loomproof::Elimination ours(late, core, edges);
  std::vector<int> step(rows);
  for (int i = 0; i < rows; ++i) step[ours.order()[i]] = i;
  std::vector<std::size_t> slot;
  for (const auto& [a, b] : edges) slot.push_back(ours.slot(step[a], step[b]));
  std::vector<double> x(rows);
  double kept = 0;

  Eigen::SparseMatrix<double> matrix(rows, rows);
  std::vector<Eigen::Triplet<double>> entries;
  for (int i = 0; i < rows; ++i) entries.emplace_back(i, i, 1.0);
  for (const auto& [a, b] : edges) entries.emplace_back(std::max(a, b), std::min(a, b), -1e-3);
  matrix.setFromTriplets(entries.begin(), entries.end());
  Eigen::SimplicialLDLT<Eigen::SparseMatrix<double>> theirs;
  theirs.analyzePattern(matrix);

  for (const bool one_line : {false, true}) {
    const double our_us = cost_us(
        edges, one_line,
        [&](const std::vector<double>& siemens, const std::vector<double>& diagonal) {
          for (std::size_t k = 0; k < edges.size(); ++k) ours.set(slot[k], -siemens[k]);
          for (int i = 0; i < rows; ++i) ours.set(ours.slot(step[i], step[i]), diagonal[i]);
        },
        [&] {
          x.assign(rows, 0);
          x[ours.core_steps()[1]] = 1;
          ours.solve_core(x);
          kept += x[ours.core_steps()[0]];
        });
    bool changed = false;
    const double their_us = cost_us(
        edges, one_line,
        [&](const std::vector<double>& siemens, const std::vector<double>& diagonal) {
          for (std::size_t k = 0; k < edges.size(); ++k)
            matrix.coeffRef(std::max(edges[k].first, edges[k].second), std::min(edges[k].first, edges[k].second)) =
                -siemens[k];
          for (int i = 0; i < rows; ++i) matrix.coeffRef(i, i) = diagonal[i];
          changed = true;
        },
        [&] {
          if (std::exchange(changed, false)) theirs.factorize(matrix);
          Eigen::VectorXd right = Eigen::VectorXd::Zero(rows);
          right[1] = 1;
          kept += theirs.solve(right)[0];
        });
    std::printf("%d rows, %s changes: ours %.1f us, Eigen's SimplicialLDLT %.1f us, %.1f times as long\n", rows,
                one_line ? "one line" : "every value", our_us, their_us, their_us / our_us);
  }
  return kept == 0 ? 1 : 0;
}
