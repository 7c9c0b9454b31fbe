// L D L^T of a symmetric matrix whose pattern never changes and whose values change a few at a time.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

namespace loomproof {

/// A circuit is nearly a tree, so that eliminated in the right order its factor has few more entries than itself, and a
/// changed value changes only the columns on one way to the root. Those alone are computed again.
class FaultElimination {
 public:
  /// @param edges  pairs of nodes that may ever be joined; slot numbers count in this list
  /// @param last   node that is eliminated last (the hub to which everything may be joined); -1 for none
  FaultElimination(int nodes, const std::vector<std::pair<int, int>>& edges, int last);

  void set_diagonal(int node, double value);
  /// Value between the two nodes of an edge; edges of the same pair share a value, the last one set.
  void set_edge(std::size_t edge, double value);

  /// Brings the factor up to date; the matrix must be positive definite.
  void factor();

  /// @param rhs  by node; overwritten by the solution
  void solve(std::vector<double>& rhs);

  std::size_t entries() const { return row_.size(); }

 private:
  int nodes_ = 0;
  std::vector<int> place_;                                   // by node: its column
  std::vector<int> node_;                                    // by column
  std::vector<std::uint32_t> col_;                           // by column: where its rows begin; one more at the end
  std::vector<int> row_;                                     // columns, rising inside each column
  std::vector<std::uint32_t> in_row_;                        // by column: where its list of contributions begins
  std::vector<std::pair<int, std::uint32_t>> contribution_;  // (earlier column, its entry)
  std::vector<std::int64_t> edge_entry_;                     // by edge; -1 when both ends are one node
  std::vector<double> diagonal_, off_;                       // as given
  std::vector<double> d_, inverse_, l_;
  std::vector<std::uint8_t> dirty_;
  std::vector<double> work_, y_;
};

}  // namespace loomproof
