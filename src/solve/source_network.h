// The network of the sources alone, as a short circuit sees it: loads, coils and inputs left out, every contact closed.
#pragma once

#include <map>
#include <vector>

#include <Eigen/SparseCholesky>
#include <Eigen/SparseCore>

#include "solve/circuit.h"

namespace loomproof {

/// Under which conditions the sources and wires of a fault are taken.
struct FaultConditions {
  bool full = true;        // pack at full charge, else empty
  bool hot_wires = false;  // copper at the limit of its insulation, else as cold as at a start (cold_start)
  bool consumers = true;   // resistors of 0.1 ohm and more, which draw on the sources, else absent
  bool limited = true;  // sources that limit themselves stand in it as their voltage behind volts / limit; else absent
};

/// A source that limits its current, or a controller that regenerates up to its limit.
struct LimitedSource {
  PartIndex part;
  int pos = 0;
  int neg = 0;
  double limit_a = 0;
  double volts_v = 0;
  bool regenerates = false;
};
std::vector<LimitedSource> limited_sources(const Circuit&);

/// Resistance that a branch has in a fault; 0 when it carries none.
double fault_ohm(const Circuit&, const Branch&, const FaultConditions&);

/// Impedances by nodes, each conducting piece held at one of its nodes. Building costs one sparse factorisation,
/// `column` one solution of it (kept), `self` and `between` a walk up the elimination tree.
class SourceNetwork {
 public:
  SourceNetwork(const Circuit&, const FaultConditions&);

  /// Whether a conducting way ties the nodes, and whether a source is tied to the node.
  bool tied(int a, int b) const { return piece_[a] == piece_[b]; }
  bool fed(int node) const { return fed_[piece_[node]] != 0; }
  int piece(int node) const { return piece_[node]; }

  double open_v(int a, int b) const { return open_[a] - open_[b]; }
  const Eigen::VectorXd& column(int node) const;
  double self(int node) const { return between(node, node); }
  double between(int a, int b) const;
  /// Resistance that two tied nodes show.
  double thevenin(int a, int b) const { return self(a) + self(b) - 2 * between(a, b); }
  double ohm(const Branch& b) const { return fault_ohm(circuit_, b, conditions_); }

 private:
  struct Way {  // forward substitution of a unit vector: its non-zero rows on the way to the root
    std::vector<int> rows;
    std::vector<double> values;
  };
  void find_way(int node, Way& out) const;

  const Circuit& circuit_;
  FaultConditions conditions_;
  Eigen::SimplicialLDLT<Eigen::SparseMatrix<double>> factor_;
  Eigen::SparseMatrix<double> lower_;
  Eigen::VectorXd diagonal_;
  Eigen::VectorXd open_;
  std::vector<int> piece_;
  std::vector<char> fed_;
  mutable std::map<int, Eigen::VectorXd> columns_;
  mutable std::vector<double> work_;
  mutable Way from_, to_;  // scratch
};

}  // namespace loomproof
