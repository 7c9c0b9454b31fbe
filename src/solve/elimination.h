// LDL^T of a symmetric matrix whose pattern never changes, done again only where its values did.
#pragma once

#include <cstddef>
#include <utility>
#include <vector>

namespace loomproof {

/// Factorisation of a positive definite matrix. Order (approximate minimum degree), fill and every destination of the
/// arithmetic are found once. A changed value touches its own column and those above it in the elimination tree, and
/// only these are computed again, by the same arithmetic as the first time: the result does not depend on the history.
///
/// Eigen's SimplicialLDLT factors all of the matrix anew and solves for all of it: 1.5 times as long, setting the values
/// included, where one line changes between solutions, 1.1 times where every value does (`elimination_cost` among the
/// benchmarks). In a walk over faults few lines change.
class Elimination {
 public:
  /// @param late   rows to eliminate last: those whose right-hand side and solution are asked for again and again
  /// @param edges  pairs of rows that may carry a value besides the diagonal, each pair once or more
  /// @param core   of the late rows those whose right-hand side may be other than 0 and whose solution solve_core()
  /// gives
  /// @param hub    a late row that may be joined to nearly every other, and so goes last of all; -1: none
  Elimination(const std::vector<char>& late, const std::vector<char>& core,
              const std::vector<std::pair<int, int>>& edges, int hub = -1);

  /// The row that each step eliminates. All that follows counts in steps, not in rows.
  const std::vector<int>& order() const { return order_; }

  /// Where a value is kept; `a` and `b` are steps, and a pair must have been among the edges.
  std::size_t slot(int a, int b) const;
  void set(std::size_t slot, double value);

  /// The first step that eliminates a late row.
  int first_late() const { return first_late_; }
  /// Solves for the core and what lies above it in the elimination tree, core_steps(). `x` holds the right-hand side
  /// before and the solution after, by step. The right-hand side of the other rows is 0.
  void solve_core(std::vector<double>& x);
  const std::vector<int>& core_steps() const { return core_; }
  /// The others of the late part of `x`, after solve_core().
  void solve_late(std::vector<double>& x) const;
  /// The other part of `x`, from the late part of the solution.
  void solve_rest(std::vector<double>& x) const;

 private:
  void factorise();
  void find_core(const std::vector<char>& core);
  double solved(const double* x, int j, double sum) const;

  /// entry[dest] -= lower[factor] * entry[of]
  struct Update {
    unsigned dest = 0, factor = 0, of = 0;
  };

  int n_ = 0;
  int first_late_ = 0;
  std::vector<int> core_, late_only_;  // steps, ascending; the second is what of the late is not in the first
  std::vector<int> order_;
  std::vector<unsigned> start_;         // by column, and one more: its entries below the diagonal
  std::vector<int> row_;                // by entry
  std::vector<int> column_;             // by entry
  std::vector<int> parent_;             // by column, -1 for a root
  std::vector<unsigned> first_in_row_;  // by column, and one more: entries of earlier columns in its row
  std::vector<unsigned> in_row_;        // those entries
  std::vector<unsigned> first_update_;  // by column, and one more
  std::vector<Update> updates_;
  std::vector<double> value_;     // by slot: diagonal by column, then the entries
  std::vector<double> entry_;     // L D, by entry
  std::vector<double> lower_;     // L
  std::vector<double> diagonal_;  // D
  std::vector<char> stale_;       // by column
  bool any_stale_ = true;
};

}  // namespace loomproof
