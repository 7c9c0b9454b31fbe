// One island of the circuit as a linear network: conductances and pushed currents in, voltages and pieces out.
#pragma once

#include <cstddef>
#include <vector>

#include "solve/elimination.h"

namespace loomproof {

/// A branch as its island sees it.
struct IslandLink {
  int a = 0;  // node of the circuit
  int b = 0;
  bool lasting = false;  // its conductance is set once and stays above 0
  bool pushes = false;   // may push a current
  bool seldom = false;   // conducts only while set_laid() says that it may: a bridge that a fault lays
};

/// Nodal analysis G v = i. A piece is what conductances above 0 join; its best-ranked node is its 0 V, held there by a
/// unit conductance that carries no current. What does not change between two solutions is not computed again.
class Island {
 public:
  /// @param nodes        of the circuit
  /// @param watched      by node of the circuit: its voltage is asked for after every solve(); those of the links that
  ///                     push must be among them
  /// @param ground_rank  by node of the circuit; the lowest of a piece is its 0 V
  Island(std::vector<int> nodes, const std::vector<char>& watched, const std::vector<IslandLink>& links,
         const std::vector<int>& ground_rank);

  /// By step of the elimination: the node of the circuit.
  const std::vector<int>& nodes() const { return nodes_; }

  void set_conductance(std::size_t link, double siemens) {
    if (conductance_[link] != siemens) change_conductance(link, siemens);
  }

  double conductance(std::size_t link) const { return conductance_[link]; }

  double push(std::size_t link) const { return push_[link]; }

  /// Takes a lasting link out of those that never open, or back among them.
  void set_lasting(std::size_t link, bool lasting);
  /// Of a seldom link: whether it may conduct.
  void set_laid(std::size_t link, bool laid);

  /// A current of `amps` into the link's end a and out of its end b, besides what its conductance carries.
  void set_push(std::size_t link, double amps) {
    if (push_[link] == amps) return;
    push_[link] = amps;
    pushes_stale_ = true;
  }

  /// Whether solve() has anything to do. What nothing drives stands at 0 V whatever it conducts.
  bool is_stale() const { return pieces_stale_ || pushes_stale_ || (alive_ && matrix_stale_); }
  /// Brings pieces and the voltages at the ends of what pushes up to date; false when nothing had changed.
  bool solve();
  /// Steps whose voltages solve() gives, ascending.
  const std::vector<int>& solved_steps() const { return elimination_.core_steps(); }
  /// Brings the voltages of all watched nodes up to date; false when nothing had changed since the last time.
  bool solve_watched();
  /// Brings the other voltages up to date, after solve_watched().
  void solve_rest();
  int first_watched() const { return elimination_.first_late(); }  // step

  /// Voltages of what is set now, from those of a solution that differs by idle links alone: ones that carry nothing
  /// and whose two ends, when they are closed, stand at one voltage. Nothing is solved, and v() knows nothing of it.
  /// @param known    by node of the circuit
  /// @param is_idle  by link
  /// @param v        by node of the circuit; so is `piece`, whose numbers are nodes
  void carry_over(const double* known, const std::vector<char>& is_idle, std::vector<double>& v,
                  std::vector<int>& piece);

  bool pieces_moved() const { return pieces_moved_; }          // in the last solve
  const std::vector<double>& v() const { return v_; }          // by step
  int ground(int step) const { return top_[cluster_[step]]; }  // step of its piece's 0 V
  double ground_current() const;  // largest that flows to a 0 V: what Kirchhoff's law lacks, in A

 private:
  struct Ends {
    int a = 0;  // steps
    int b = 0;
    std::size_t slot = 0;
    bool lasting = false;
    bool away = false;  // a seldom one that is not laid
  };
  struct Term {
    std::size_t link = 0;
    double sign = 1;
  };

  void change_conductance(std::size_t link, double siemens);
  void touch(std::size_t slot);
  void find_clusters();
  void find_pieces();
  void find_tops();
  void find_shifts(const double* known, const std::vector<char>& is_idle);
  void fill_matrix();

  std::vector<int> nodes_;
  Elimination elimination_;
  std::vector<Ends> ends_;  // by link
  std::vector<double> conductance_, push_;
  std::vector<std::vector<Term>> terms_;  // by slot: what its value is the sum of
  std::vector<std::size_t> touched_;
  std::vector<char> is_touched_;
  std::vector<int> by_rank_;      // steps, the best first
  std::vector<int> cluster_;      // by step: what lasting links join
  std::vector<int> cluster_top_;  // by cluster, the best-ranked first: step of its best-ranked node
  struct Changing {
    std::size_t link = 0;
    int a = 0, b = 0;  // clusters
  };
  std::vector<Changing> changing_;    // links that may open and would join two clusters
  std::vector<std::size_t> pushing_;  // links that may push
  std::vector<int> top_;              // by cluster: step of its piece's 0 V
  std::vector<int> up_;               // by cluster, for the union-find: a better one or itself
  std::vector<double> shift_;         // by cluster, of carry_over(): against the known voltages
  std::vector<char> grounded_;        // by step
  std::vector<double> v_;
  bool clusters_stale_ = true;
  bool pieces_stale_ = true, pushes_stale_ = true, matrix_stale_ = true, pieces_moved_ = false, alive_ = false,
       watched_stale_ = false, rest_stale_ = false;
};

}  // namespace loomproof
