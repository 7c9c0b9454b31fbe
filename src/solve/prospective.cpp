// Currents that a short circuit can drive.
#include "solve/prospective.h"

#include <algorithm>
#include <cmath>

#include <Eigen/SparseCholesky>
#include <Eigen/SparseCore>

#include "units/conductor.h"

namespace loomproof {
namespace {

constexpr double leak_s =
    1e-9;  // ties loose pieces to 0 V so that the matrix has an inverse; it carries nothing that counts
constexpr Celsius cold_copper{20};
// A prospective current is that of the circuit with the device replaced by no impedance (IEC 60050-441-17-01, from
// memory); what resistance a fuse has is an assumption of ours in any case.
constexpr double no_fuse_ohm = 1e-5;

double least(double ohm) {
  return std::max(ohm, 1e-6);
}

// The sources' network with everything that only consumes left out.
class SourceNetwork {
 public:
  explicit SourceNetwork(const Circuit& circuit) : circuit_(circuit), n_(circuit.nodes) {
    std::vector<Eigen::Triplet<double>> entries;
    Eigen::VectorXd driven = Eigen::VectorXd::Zero(n_);
    for (int i = 0; i < n_; ++i) entries.emplace_back(i, i, leak_s);
    for (const Branch& b : circuit.branches) {
      const double ohm = conducting_ohm(b);
      if (ohm <= 0 || b.a == b.b) continue;
      const double g = 1 / ohm;
      entries.emplace_back(b.a, b.a, g);
      entries.emplace_back(b.b, b.b, g);
      entries.emplace_back(std::max(b.a, b.b), std::min(b.a, b.b), -g);
      const double emf = emf_v(b);
      driven[b.a] += emf * g;
      driven[b.b] -= emf * g;
    }
    Eigen::SparseMatrix<double> g(n_, n_);
    g.setFromTriplets(entries.begin(), entries.end());
    factor_.compute(g);
    open_ = factor_.solve(driven);
  }

  double open_v(int a, int b) const { return open_[a] - open_[b]; }

  /// Change of every node's voltage for 1 A drawn from a and pushed into b.
  Eigen::VectorXd drawn(int a, int b) const {
    Eigen::VectorXd unit = Eigen::VectorXd::Zero(n_);
    unit[a] -= 1;
    unit[b] += 1;
    return factor_.solve(unit);
  }

  double short_a(int a, int b) const {
    if (a == b) return 0;
    const Eigen::VectorXd change = drawn(a, b);
    const double thevenin = -(change[a] - change[b]);
    return thevenin > 0 && thevenin < 0.5 / leak_s ? std::fabs(open_v(a, b)) / thevenin : 0;
  }

  /// A source that limits its current looks like its voltage behind the resistance at which it gives the limit shorted.
  static double source_ohm(const Source& s) {
    const double own = least(s.ohm ? *s.ohm * s.share : 1e-3);
    if (s.limit_a && *s.limit_a > 0 && s.full_v) return std::max(own, *s.full_v * s.share / *s.limit_a);
    return own;
  }

  double conducting_ohm(const Branch& b) const {
    const Elements& all = circuit_.loom->elements;
    switch (b.type) {
      case BranchType::wire: {
        const auto ohm = wire_resistance(circuit_.loom->wires[b.index], cold_copper);
        return ohm ? least(ohm->value) : b.ohm;
      }
      case BranchType::fuse:
        return no_fuse_ohm;
      case BranchType::resistance:
      case BranchType::contact:
        return b.ohm;
      case BranchType::source:
        return source_ohm(all.sources[b.index]);
      case BranchType::converter_out: {
        const Converter& c = all.converters[b.index];
        return c.limit_a && *c.limit_a > 0 && c.volts_v ? *c.volts_v / *c.limit_a : b.ohm;
      }
      // Forward it conducts; the drop only helps.
      case BranchType::diode:
        return b.ohm;
      default:
        return 0;
    }
  }

 private:
  double emf_v(const Branch& b) const {
    const Elements& all = circuit_.loom->elements;
    if (b.type == BranchType::source) {
      const Source& s = all.sources[b.index];
      return s.full_v ? *s.full_v * s.share : 0;
    }
    if (b.type == BranchType::converter_out) {
      const Converter& c = all.converters[b.index];
      return c.volts_v ? *c.volts_v : 0;
    }
    return 0;
  }

  const Circuit& circuit_;
  int n_;
  Eigen::SimplicialLDLT<Eigen::SparseMatrix<double>> factor_;
  Eigen::VectorXd open_;
};

struct Pole {
  int node;
  std::optional<std::size_t> source;  // none: of a converter
};

}  // namespace

std::vector<FuseFault> fuse_faults(const Circuit& circuit) {
  const Elements& all = circuit.loom->elements;
  std::vector<FuseFault> faults(all.fuses.size());
  if (all.fuses.empty()) return faults;
  const SourceNetwork network(circuit);
  std::vector<std::vector<Pole>> poles(circuit.island_nodes.size());
  const auto pole = [&](TerminalIndex t, std::optional<std::size_t> source) {
    auto& list = poles[circuit.island_of[circuit.node(t)]];
    const int node = circuit.node(t);
    if (std::none_of(list.begin(), list.end(), [&](const Pole& p) { return p.node == node; }))
      list.push_back({node, source});
  };
  for (std::size_t i = 0; i < all.sources.size(); ++i) {
    pole(all.sources[i].pos, i);
    pole(all.sources[i].neg, i);
  }
  for (const Converter& c : all.converters) {
    pole(c.out_pos, std::nullopt);
    pole(c.out_neg, std::nullopt);
  }
  for (const Branch& b : circuit.branches) {
    if (b.type != BranchType::fuse) continue;
    FuseFault& fault = faults[b.index];
    for (const Pole& p : poles[b.island]) {
      for (const int end : {b.a, b.b}) {
        if (end == p.node) continue;
        const Eigen::VectorXd change = network.drawn(end, p.node);
        const double thevenin = -(change[end] - change[p.node]);
        if (!(thevenin > 0) || thevenin > 1e8) continue;
        const double short_a = network.open_v(end, p.node) / thevenin;
        const double through =
            std::fabs((network.open_v(b.a, b.b) + short_a * (change[b.a] - change[b.b])) / no_fuse_ohm);
        if (through > fault.largest_a) {
          fault.largest_a = through;
          fault.source = p.source;
        }
        // Open, it stands the voltage of the loop that it broke.
        if (through > 1e-3) fault.voltage_v = std::max(fault.voltage_v, std::fabs(network.open_v(end, p.node)));
      }
    }
  }
  for (std::size_t i = 0; i < faults.size(); ++i) {
    const int island = circuit.island_of[circuit.node(all.fuses[i].a)];
    for (const Source& s : all.sources) {
      if (circuit.island_of[circuit.node(s.pos)] == island && !s.ohm && !s.limit_a) faults[i].source_known = false;
    }
  }
  return faults;
}

double short_circuit_a(const Circuit& circuit, TerminalIndex a, TerminalIndex b) {
  return SourceNetwork(circuit).short_a(circuit.node(a), circuit.node(b));
}

}  // namespace loomproof
