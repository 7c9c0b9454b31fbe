// What a short circuit drives through every wire, and what the fuses on the way see of it.
//
// Everything comes from impedances Z by node. 1 A drawn at node e and pushed in at pole p changes node x by Z(x,p) -
// Z(x,e). A fuse sees the current of wire w (o to e, short at e) as the network does that has no w and draws it at o:
// one rank-one change of Z.
#include "solve/fault_paths.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <set>

#include "solve/source_network.h"
#include "solve/supply.h"

namespace loomproof {
namespace {

constexpr double no_current = 1e-3;  // share of the fault below which a branch has no part in it
constexpr double trickle = 0.05;     // share below which it matters whether it comes by way of resistors alone
constexpr double no_voltage_v = 0.1;
// Of a fault on the frame: less passes through what has a thick way beside it, and does it no harm.
constexpr double no_frame_share = 0.02;

struct PolePair {
  int pos, neg;
  bool collapsed;  // contacts that never close together short it when every contact counts as closed
};

class Paths {
 public:
  Paths(const Circuit& circuit, const CircuitGraph& graph)
      : circuit_(circuit),
        loom_(*circuit.loom),
        all_on_(circuit, {.full = true, .hot_wires = false, .limited = true}),
        strong_(circuit, {.full = true, .hot_wires = false, .limited = false}),
        weak_(circuit, {.full = false, .hot_wires = true, .limited = false}),
        weak_limited_(circuit, {.full = false, .hot_wires = true, .limited = true}),
        limited_(limited_sources(circuit)) {
    out_.own_circuit = components(
        graph, circuit, [&](const Branch& b) { return !is_tie(loom_, b) && b.type != BranchType::converter_in; });
    conductors_ = components(graph, circuit, [&](const Branch& b) { return is_conductor(circuit, b); });
    for (const SupplyPoles& s : supply_poles(circuit)) {
      const bool collapsed = !all_on_.tied(s.pos, s.neg) || all_on_.open_v(s.pos, s.neg) < 0.9 * s.full_v;
      supplies_.push_back({s.pos, s.neg, collapsed});
    }
    for (const Branch& b : circuit.branches) {
      if (b.type == BranchType::fuse && b.a != b.b) fuse_branches_.push_back(&b);
    }
    find_feeders();
  }

  FaultPaths find() {
    out_.wires.resize(loom_.wires.size());
    out_.sights.resize(loom_.wires.size());
    out_.in_frame_faults.assign(loom_.wires.size(), 0);
    out_.fuse_in_frame_faults.assign(loom_.elements.fuses.size(), 0);
    for (std::size_t w = 0; w < loom_.wires.size(); ++w) {
      const Branch& b = circuit_.branches[circuit_.wire_branch[w]];
      if (b.a == b.b) continue;
      judge_wire(w, b);
      out_.in_frame_faults[w] = in_frame_fault(b) ? 1 : 0;
    }
    for (const Branch* b : fuse_branches_) out_.fuse_in_frame_faults[b->index] = in_frame_fault(*b) ? 1 : 0;
    return std::move(out_);
  }

 private:
  // Fuses that can share a fault or be relieved: those in a loop of sources. Of a bridge g * Z(a,b) is exactly 1.
  void find_feeders() {
    for (const Branch* b : fuse_branches_) {
      if (!all_on_.fed(b->a)) continue;
      if (all_on_.thevenin(b->a, b->b) / all_on_.ohm(*b) < 1 - 1e-7) feeders_.push_back(b);
    }
  }

  const SourceNetwork& stiff(int node) const { return strong_.fed(node) ? strong_ : all_on_; }

  /// Share of 1 A, drawn at `to` and pushed in at `pole`, that comes through the branch from `from`.
  static double share_through(const SourceNetwork& net, const Branch& b, int from, int to, int pole) {
    if (!net.tied(from, pole) || !net.tied(to, pole)) return 0;
    const double across = net.between(pole, from) - net.between(from, to) - net.between(pole, to) + net.self(to);
    return across / net.ohm(b);
  }

  // Every end and pole, largest first: what trickles in from the dead side of a wire is no short of it.
  void judge_wire(std::size_t w, const Branch& b) {
    struct Short {
      int from, to, pole;
      double amps;
      bool collapsed;
    };
    std::vector<Short> shorts;
    WireFault& fault = out_.wires[w];
    for (const auto& [from, to] : {std::pair(b.a, b.b), std::pair(b.b, b.a)}) {
      for (const PolePair& supply : supplies_) {
        for (const int pole : {supply.pos, supply.neg}) {
          if (pole == to || out_.own_circuit[pole] != out_.own_circuit[to]) continue;
          const double amps = current_through(all_on_, b, from, to, pole);
          if (amps <= no_current) continue;
          shorts.push_back({from, to, pole, amps, supply.collapsed});
          fault.largest_a = std::max(fault.largest_a, amps);
        }
      }
    }
    constexpr double main_share = 0.2;
    for (const Short& s : shorts) {
      if (!feeders_.empty()) see(w, b, s.from, s.to, s.pole);
      if (s.collapsed || s.amps < main_share * fault.largest_a) continue;
      const double least = smallest_at(s.to, s.pole);
      if (least > no_current && (fault.smallest_a == 0 || least < fault.smallest_a)) fault.smallest_a = least;
    }
  }

  double smallest_at(int to, int pole) {
    if (weak_.fed(to)) return short_a(weak_, to, farthest_of(weak_, pole));
    // Sources that limit themselves give their limit as long as the way's own resistance lets them: not the straight
    // line of volts / limit.
    const int end = farthest_of(weak_limited_, pole);
    const double straight_a = short_a(weak_limited_, to, end);
    if (straight_a <= 0) return 0;
    double together_a = 0;
    for (const LimitedSource& s : limited_) {
      if (!s.regenerates && weak_limited_.tied(s.pos, to)) together_a += s.limit_a;
    }
    if (together_a <= straight_a) return straight_a;
    const double v = std::fabs(weak_limited_.open_v(to, end));
    return std::min(together_a, v / (v / straight_a - v / together_a));
  }

  static double short_a(const SourceNetwork& net, int to, int end) {
    if (to == end || !net.tied(to, end)) return 0;
    const double v = std::fabs(net.open_v(to, end));
    const double ohm = net.thevenin(to, end);
    return v < no_voltage_v || !(ohm > 0) ? 0 : v / ohm;
  }

  // Current through the branch for a bolted short between `to` and `end`.
  static double current_through(const SourceNetwork& net, const Branch& b, int from, int to, int end) {
    if (to == end || !net.tied(to, end)) return 0;
    static_cast<void>(net.column(end));
    return short_a(net, to, end) * std::clamp(share_through(net, b, from, to, end), 0.0, 1.0);
  }

  // The node of a pole's own conductor that is farthest from it.
  int farthest_of(const SourceNetwork& net, int pole) {
    const auto [at, fresh] = farthest_[&net == &weak_ ? 0 : 1].try_emplace(pole, pole);
    if (!fresh) return at->second;
    const Eigen::VectorXd& column = net.column(pole);
    double most = 0;
    for (int n = 0; n < circuit_.nodes; ++n) {
      if (conductors_[n] != conductors_[pole] || !net.tied(n, pole)) continue;
      const double ohm = net.self(n) + column[pole] - 2 * column[n];
      if (ohm > most) {
        most = ohm;
        at->second = n;
      }
    }
    static_cast<void>(net.column(at->second));
    return at->second;
  }

  // Current through a fuse for 1 A through the wire `b` into a short between `to` and the pole.
  static double carried_by(const SourceNetwork& net, const Branch& fuse, const Branch& b, int from, int to, int pole) {
    // Without the wire: Z' = Z + (Z d)(Z d)^T g / (1 - g d^T Z d), d = from - to.
    const double g = 1 / net.ohm(b);
    const double rest = 1 - g * net.thevenin(from, to);
    const bool bridge = rest < 1e-7;
    const Eigen::VectorXd& za = net.column(fuse.a);
    const Eigen::VectorXd& zb = net.column(fuse.b);
    const auto row = [&](int x) { return za[x] - zb[x]; };
    const double g_f = 1 / net.ohm(fuse);
    if (bridge) return g_f * (row(pole) - row(from));
    // Drawn at `from` with `to` held to the pole: draw at `to`, less what the wire would bring.
    const double d_z_draw = (net.between(pole, from) - net.between(pole, to)) - (net.self(from) - net.between(from, to));
    return g_f * ((row(pole) - row(from)) + (row(from) - row(to)) * g / rest * d_z_draw);
  }

  // A short before the fuse leaves it what a resistor behind it lets back, which is no share of that fault: a fuse that
  // no conductor ties to the short stands in none of its loops.
  bool by_resistors_alone(const SourceNetwork& net, const Branch& fuse, const Branch& b, int from, int to, int pole) {
    const bool strong = &net == &strong_;
    std::optional<SourceNetwork>& bare = bare_[strong ? 0 : 1];
    if (!bare)
      bare.emplace(circuit_,
                   FaultConditions{.full = true, .hot_wires = false, .consumers = false, .limited = !strong});
    if (!bare->tied(from, pole) || !bare->tied(to, pole)) return false;
    return !bare->tied(fuse.a, from) || std::fabs(carried_by(*bare, fuse, b, from, to, pole)) < no_current;
  }

  void see(std::size_t w, const Branch& b, int from, int to, int pole) {
    const SourceNetwork& net = stiff(to);
    if (share_through(net, b, from, to, pole) < no_current) return;
    for (const Branch* f : feeders_) {
      if (!net.tied(f->a, from)) continue;
      const double carried = carried_by(net, *f, b, from, to, pole);
      const double share = std::min(1.0, std::fabs(carried));
      if (share < no_current || (share < trickle && by_resistors_alone(net, *f, b, from, to, pole))) continue;
      FuseSight sight{f->index, share, 0, {}};
      if (&net == &strong_) relieve(b, *f, carried, share, sight);
      keep(w, std::move(sight));
    }
  }

  void relieve(const Branch& wire, const Branch& f, double carried, double share, FuseSight& sight) {
    const Eigen::VectorXd& za = strong_.column(f.a);
    const Eigen::VectorXd& zb = strong_.column(f.b);
    for (const LimitedSource& s : limited_) {
      if (!strong_.tied(s.pos, f.a) || !strong_.tied(s.neg, f.a)) continue;
      const double given = ((za[s.pos] - zb[s.pos]) - (za[s.neg] - zb[s.neg])) / strong_.ohm(f);
      if (given * carried >= 0 || std::fabs(given) < no_current) continue;
      // What reaches the fault without passing the wire relieves nothing of it.
      const Eigen::VectorXd& zp = strong_.column(s.pos);
      const Eigen::VectorXd& zn = strong_.column(s.neg);
      const double by_wire = std::fabs((zp[wire.a] - zp[wire.b]) - (zn[wire.a] - zn[wire.b])) / strong_.ohm(wire);
      const double relief = s.limit_a * std::fabs(given) / share * std::max(0.0, 1 - by_wire);
      if (relief < 1e-2) continue;
      sight.relief_a += relief;
      sight.beside.push_back(s.part);
    }
  }

  void keep(std::size_t w, FuseSight sight) {
    if (sight.share > 1 - 1e-3 && sight.relief_a == 0) return;
    for (FuseSight& known : out_.sights[w]) {
      if (known.fuse != sight.fuse) continue;
      known.share = std::min(known.share, sight.share);
      if (sight.relief_a > known.relief_a) {
        known.relief_a = sight.relief_a;
        known.beside = std::move(sight.beside);
      }
      return;
    }
    out_.sights[w].push_back(std::move(sight));
  }

  bool in_frame_fault(const Branch& b) {
    if (circuit_.frame_node < 0) return false;
    for (const PolePair& supply : supplies_) {
      for (const int pole : {supply.pos, supply.neg}) {
        if (out_.own_circuit[pole] == out_.own_circuit[circuit_.frame_node]) continue;
        if (!all_on_.tied(pole, circuit_.frame_node) || !all_on_.tied(b.a, pole)) continue;
        if (std::fabs(all_on_.open_v(circuit_.frame_node, pole)) < no_voltage_v) continue;
        const Eigen::VectorXd& frame = all_on_.column(circuit_.frame_node);
        const Eigen::VectorXd& other = all_on_.column(pole);
        const double carried = ((other[b.a] - frame[b.a]) - (other[b.b] - frame[b.b])) / all_on_.ohm(b);
        if (std::fabs(carried) > no_frame_share) return true;
      }
    }
    return false;
  }

  const Circuit& circuit_;
  const Loom& loom_;
  SourceNetwork all_on_, strong_, weak_, weak_limited_;
  std::optional<SourceNetwork> bare_[2];  // strong_ and all_on_ without resistors; built where they are asked for
  std::vector<LimitedSource> limited_;
  std::vector<PolePair> supplies_;
  std::vector<const Branch*> fuse_branches_, feeders_;
  std::vector<int> conductors_;
  std::map<int, int> farthest_[2];
  FaultPaths out_;
};

}  // namespace

bool is_tie(const Loom& loom, const Branch& b) {
  if (b.type != BranchType::resistance) return false;
  const std::optional<bool> isolated = loom.part(loom.elements.resistances[b.index].part).flag("isolated");
  return isolated && !*isolated;
}

FaultPaths fault_paths(const Circuit& circuit, const CircuitGraph& graph) {
  return Paths(circuit, graph).find();
}

}  // namespace loomproof
