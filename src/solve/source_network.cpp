// The network of the sources alone, as a short circuit sees it.
#include "solve/source_network.h"

#include <algorithm>
#include <numeric>

#include "solve/circuit_graph.h"
#include "solve/insulation.h"
#include "solve/supply.h"

namespace loomproof {
namespace {

// A prospective current is that of the circuit with the device replaced by no impedance (IEC 60050-441-17-01, from
// memory); what resistance a fuse has is an assumption of ours in any case.
constexpr double no_fuse_ohm = 1e-5;
constexpr double unknown_source_ohm = 1e-3;
// Holds one node of every piece; carries nothing, since a piece has no other way out.
constexpr double hold_s = 1;

double least(double ohm) {
  return std::max(ohm, 1e-6);
}

Celsius copper_of(const Loom& loom, const Wire& wire, bool hot) {
  if (!hot) return cold_start(loom);
  const auto insulation =
      find_insulation(wire.insulation ? std::string_view(wire.insulation->value) : assumed_insulation);
  return insulation ? insulation->limit : Celsius(90);
}

bool limits_itself(const Datum& limit_a) {
  return limit_a && *limit_a > 0;
}

double volts_of(const Source& s, bool full) {
  const Datum& v = full ? s.full_v : s.empty_v;
  return v ? *v * s.share : 0;
}

}  // namespace

std::vector<LimitedSource> limited_sources(const Circuit& circuit) {
  const Elements& all = circuit.loom->elements;
  std::vector<LimitedSource> out;
  for (const Source& s : all.sources) {
    if (limits_itself(s.limit_a)) {
      out.push_back({s.part, circuit.node(s.pos), circuit.node(s.neg), *s.limit_a, volts_of(s, true), false});
    }
  }
  for (const Converter& c : all.converters) {
    if (!limits_itself(c.limit_a)) continue;
    out.push_back(
        {c.part, circuit.node(c.out_pos), circuit.node(c.out_neg), *c.limit_a, c.volts_v ? *c.volts_v : 0, false});
  }
  for (const Load& load : all.loads) {
    const auto regen_a = circuit.loom->part(load.part).number("regen_limit");
    if (load.channel.empty() || !regen_a || *regen_a <= 0) continue;
    const double bus_v = load.high_v ? *load.high_v : traction_full_v(circuit);
    out.push_back({load.part, circuit.node(load.pos), circuit.node(load.neg), *regen_a, bus_v, true});
  }
  return out;
}

double fault_ohm(const Circuit& circuit, const Branch& b, const FaultConditions& conditions) {
  const Elements& all = circuit.loom->elements;
  switch (b.type) {
    case BranchType::wire: {
      const Wire& wire = circuit.loom->wires[b.index];
      const auto ohm = wire_resistance(wire, copper_of(*circuit.loom, wire, conditions.hot_wires));
      return ohm ? least(ohm->value) : b.ohm;
    }
    case BranchType::fuse:
      return no_fuse_ohm;
    case BranchType::resistance:
      return conditions.consumers || is_conductor(circuit, b) ? b.ohm : 0;
    case BranchType::contact:
      return b.ohm;
    case BranchType::source: {
      const Source& s = all.sources[b.index];
      const double own = least(s.ohm ? *s.ohm * s.share : unknown_source_ohm);
      if (!limits_itself(s.limit_a)) return own;
      // Shorted it gives its limit.
      return conditions.limited ? std::max(own, volts_of(s, conditions.full) / *s.limit_a) : 0;
    }
    case BranchType::converter_out: {
      const Converter& c = all.converters[b.index];
      if (!limits_itself(c.limit_a)) return b.ohm;
      return conditions.limited && c.volts_v ? *c.volts_v / *c.limit_a : 0;
    }
    // Forward it conducts; the drop only helps.
    case BranchType::diode:
      return circuit.diode_stands[b.index] != DiodeStand::backward ? b.ohm : 0;
    default:
      return 0;
  }
}

SourceNetwork::SourceNetwork(const Circuit& circuit, const FaultConditions& conditions)
    : circuit_(circuit), conditions_(conditions), piece_(circuit.nodes), work_(circuit.nodes, 0.0) {
  std::iota(piece_.begin(), piece_.end(), 0);
  const auto top = [&](int i) {
    while (piece_[i] != i) i = piece_[i] = piece_[piece_[i]];
    return i;
  };
  std::vector<Eigen::Triplet<double>> entries;
  Eigen::VectorXd driven = Eigen::VectorXd::Zero(circuit.nodes);
  const auto lay = [&](int a, int b, double ohm, double emf_v) {
    const double g = 1 / ohm;
    entries.emplace_back(a, a, g);
    entries.emplace_back(b, b, g);
    entries.emplace_back(std::max(a, b), std::min(a, b), -g);
    driven[a] += emf_v * g;
    driven[b] -= emf_v * g;
    piece_[top(a)] = top(b);
  };
  std::vector<int> source_nodes;
  for (const Branch& b : circuit.branches) {
    const double branch_ohm = ohm(b);
    if (branch_ohm <= 0 || b.a == b.b) continue;
    double emf_v = 0;
    if (b.type == BranchType::source) emf_v = volts_of(circuit.loom->elements.sources[b.index], conditions.full);
    if (b.type == BranchType::converter_out) {
      const Datum& volts = circuit.loom->elements.converters[b.index].volts_v;
      emf_v = volts ? *volts : 0;
    }
    if (emf_v > 0) source_nodes.push_back(b.b);
    lay(b.a, b.b, branch_ohm, emf_v);
  }
  if (conditions.limited) {
    for (const LimitedSource& s : limited_sources(circuit)) {
      if (!s.regenerates || s.volts_v <= 0) continue;
      // It drives what the pack's own voltage is: what it adds is its current.
      const double bus_v = std::min(s.volts_v, std::max(1.0, traction_full_v(circuit)));
      lay(s.pos, s.neg, bus_v / s.limit_a, bus_v);
      source_nodes.push_back(s.neg);
    }
  }
  for (int n = 0; n < circuit.nodes; ++n) piece_[n] = top(n);
  fed_.assign(circuit.nodes, 0);
  std::vector<char> held(circuit.nodes, 0);
  const auto hold = [&](int node) {
    if (held[piece_[node]] != 0) return;
    held[piece_[node]] = 1;
    entries.emplace_back(node, node, hold_s);
  };
  for (int node : source_nodes) {
    fed_[piece_[node]] = 1;
    hold(node);
  }
  for (int n = 0; n < circuit.nodes; ++n) hold(n);
  Eigen::SparseMatrix<double> g(circuit.nodes, circuit.nodes);
  g.setFromTriplets(entries.begin(), entries.end());
  factor_.compute(g);
  open_ = factor_.solve(driven);
  lower_ = factor_.matrixL().nestedExpression();
  diagonal_ = factor_.vectorD();
}

const Eigen::VectorXd& SourceNetwork::column(int node) const {
  const auto [at, fresh] = columns_.try_emplace(node);
  if (fresh) {
    Eigen::VectorXd unit = Eigen::VectorXd::Zero(circuit_.nodes);
    unit[node] = 1;
    at->second = factor_.solve(unit);
  }
  return at->second;
}

void SourceNetwork::find_way(int node, Way& out) const {
  out.rows.clear();
  out.values.clear();
  int row = factor_.permutationP().size() > 0 ? factor_.permutationP().indices()[node] : node;
  work_[row] = 1;
  while (row >= 0) {
    const double value = work_[row];
    work_[row] = 0;
    out.rows.push_back(row);
    out.values.push_back(value);
    int next = -1;
    for (Eigen::SparseMatrix<double>::InnerIterator it(lower_, row); it; ++it) {
      if (it.row() <= row) continue;
      work_[it.row()] -= it.value() * value;
      if (next < 0 || it.row() < next) next = static_cast<int>(it.row());
    }
    row = next;
  }
}

double SourceNetwork::between(int a, int b) const {
  const auto known = columns_.find(a);
  if (known != columns_.end()) return known->second[b];
  const auto known_b = columns_.find(b);
  if (known_b != columns_.end()) return known_b->second[a];
  if (!tied(a, b)) return 0;
  find_way(a, from_);
  if (a == b) {
    double sum = 0;
    for (std::size_t i = 0; i < from_.rows.size(); ++i)
      sum += from_.values[i] * from_.values[i] / diagonal_[from_.rows[i]];
    return sum;
  }
  find_way(b, to_);
  double sum = 0;
  for (std::size_t i = 0, j = 0; i < from_.rows.size() && j < to_.rows.size();) {
    if (from_.rows[i] < to_.rows[j]) {
      ++i;
    } else if (to_.rows[j] < from_.rows[i]) {
      ++j;
    } else {
      sum += from_.values[i] * to_.values[j] / diagonal_[from_.rows[i]];
      ++i;
      ++j;
    }
  }
  return sum;
}

}  // namespace loomproof
