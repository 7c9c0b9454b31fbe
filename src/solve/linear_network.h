// The whole circuit as linear islands: which branch is which link of which island, healthy or with a change.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "solve/circuit_change.h"
#include "solve/island.h"
#include "solve/operating_point.h"

namespace loomproof {

/// By node: its voltage is asked for by the laws of the branches or the logic, and so after every solution.
std::vector<char> watched_nodes(const Circuit&);

inline bool is_divider(const Branch& b) {
  return b.type == BranchType::divider_upper || b.type == BranchType::divider_lower;
}

/// Of a branch that neither the logic nor the solution moves, in S.
double own_conductance(const Circuit&, const Branch&);

/// Conductances and pushed currents go in by branch, voltages and pieces come out by node.
class LinearNetwork {
 public:
  /// @param opens_contacts  whether alter() will hold contacts open, one after another: none then counts as one that
  ///                        never opens, which is found out anew with every change
  explicit LinearNetwork(const Circuit&, bool opens_contacts = false);

  /// Opens the branches and lays the bridges of `change`, in place of those before.
  void alter(const CircuitChange& change);

  /// Nothing is conducted by a branch that the change opened.
  void set_conductance(std::size_t branch, double siemens) {
    if (opened_[branch] == 0) islands_[home_[branch].island].set_conductance(home_[branch].link, siemens);
  }
  void set_push(std::size_t branch, double amps) { islands_[home_[branch].island].set_push(home_[branch].link, amps); }
  void set_pair(std::size_t pair, double amps) {
    islands_[pair_home_[pair].island].set_push(pair_home_[pair].link, amps);
  }

  std::size_t islands() const { return islands_.size(); }
  std::size_t island_of(std::size_t branch) const { return home_[branch].island; }

  /// Whether anything was set in the island since it was last solved.
  bool is_stale(std::size_t island) const { return is_new_[island] != 0 || islands_[island].is_stale(); }
  /// Solves an island and writes what moved into piece, and into node_v of those nodes that sources, loads, logic and
  /// the like look at; the point must be the same one every time. False when nothing moved.
  bool solve(std::size_t island, OperatingPoint& point);
  /// Writes node_v of all other nodes.
  void solve_rest(OperatingPoint& point);
  double ground_current() const;

 private:
  struct Home {
    std::size_t island = 0;
    std::size_t link = 0;
  };
  void lay(const std::vector<CircuitChange::Bridge>& bridges);
  bool lasts(const Branch&) const;

  const Circuit& circuit_;
  const bool opens_contacts_;
  CircuitChange change_;
  std::vector<Island> islands_;
  std::vector<Home> home_;        // by branch
  std::vector<Home> pair_home_;   // by lead pair
  std::vector<char> opened_;      // by branch
  std::vector<char> watched_;     // by node
  std::vector<char> is_new_;      // by island
  std::vector<char> rest_stale_;  // by island
};

}  // namespace loomproof
