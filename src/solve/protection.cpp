// Which device opens before a wire is damaged, loop by loop.
//
// For one kind of wire (same build, same surroundings) every device that protects it, every source too weak to hurt it
// and every resistance that limits the current to what it carries are taken out. What is left conducts a fault without
// help. A short between two pieces of that network closes a loop through a source exactly when sources tie the pieces
// together, so a wire of one piece is in danger when another piece of the same cluster can be touched.
#include "solve/protection.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numeric>

#include <boost/graph/dijkstra_shortest_paths.hpp>

#include "solve/source_network.h"
#include "solve/supply.h"
#include "solve/wire_classes.h"
#include "solve/wire_run.h"

namespace loomproof {
namespace {

// At most two, of different pieces: one of them is not the wire's own.
class Touchables {
 public:
  void add(int piece, std::size_t wire) {
    if (first_ && first_->first == piece) return;
    (first_ ? second_ : first_) = std::pair(piece, wire);
  }
  std::optional<std::size_t> other_than(int piece) const {
    if (first_ && first_->first != piece) return first_->second;
    return second_ ? std::optional(second_->second) : std::nullopt;
  }

 private:
  std::optional<std::pair<int, std::size_t>> first_, second_;
};

class Loops {
 public:
  Loops(const Circuit& circuit, const CircuitGraph& graph, const FaultPaths& paths,
        const std::vector<FuseFault>& faults, const std::vector<WireHeat>& heat)
      : circuit_(circuit),
        graph_(graph),
        loom_(*circuit.loom),
        paths_(paths),
        classes_(wire_classes(loom_, paths, faults, heat)) {
    out_.wires.resize(loom_.wires.size());
    for (const Source& s : loom_.elements.sources) {
      source_limit_.push_back(s.limit_a ? *s.limit_a : std::numeric_limits<double>::infinity());
      source_v_.push_back(s.full_v ? *s.full_v * s.share : 0);
      ends_.push_back({circuit.node(s.pos), circuit.node(s.neg)});
    }
    for (const Converter& c : loom_.elements.converters) {
      source_limit_.push_back(c.limit_a ? *c.limit_a : std::numeric_limits<double>::infinity());
      source_v_.push_back(c.volts_v ? *c.volts_v : 0);
      ends_.push_back({circuit.node(c.out_pos), circuit.node(c.out_neg)});
    }
    // A fault may pass several sections of a tapped pack, so the outer poles count as a pair too.
    for (std::size_t i = 0; i < ends_.size(); ++i)
      supplies_.push_back({ends_[i].first, ends_[i].second, source_limit_[i]});
    for (const SupplyPoles& poles : supply_poles(circuit)) {
      double limit_a = std::numeric_limits<double>::infinity();
      for (const Source& s : loom_.elements.sources) {
        if (s.part == poles.part && s.limit_a) limit_a = std::min(limit_a, *s.limit_a);
      }
      for (const Converter& c : loom_.elements.converters) {
        if (c.part == poles.part && c.limit_a) limit_a = std::min(limit_a, *c.limit_a);
      }
      supplies_.push_back({poles.pos, poles.neg, limit_a});
    }
    poles_ = ends_.size();
    for (const LimitedSource& s : limited_sources(circuit)) {
      if (!s.regenerates) continue;
      source_limit_.push_back(s.limit_a);
      source_v_.push_back(s.volts_v);
      ends_.push_back({s.pos, s.neg});
    }
    find_highest();
  }

  Protection find() {
    for (std::size_t w = 0; w < loom_.wires.size(); ++w) {
      out_.wires[w].missing = missing_of(loom_.wires[w]);
      if (!out_.wires[w].missing.empty()) out_.wires[w].state = WireProtection::State::unknown;
    }
    bare_ = std::vector<char>(loom_.wires.size(), 0);
    bare_leads();
    for (const WireClass& c : classes_) judge(c);
    for (std::size_t w = 0; w < loom_.wires.size(); ++w) {
      WireProtection& verdict = out_.wires[w];
      const bool by_figures = verdict.state == WireProtection::State::oversize ||
                              (verdict.state == WireProtection::State::device && verdict.fuse);
      const int node = circuit_.branches[circuit_.wire_branch[w]].a;
      if (by_figures) verdict.untold = untold_supply(circuit_, paths_, node);
      if (verdict.untold) verdict.state = WireProtection::State::unknown;
      verdict.smallest = Ampere(paths_.wires[w].smallest_a);
      verdict.largest = Ampere(paths_.wires[w].largest_a);
      for (const FuseSight& s : paths_.sights[w]) {
        if (!verdict.fuse || s.fuse != *verdict.fuse) continue;
        verdict.seen_share = s.share;
        verdict.beside = Ampere(s.relief_a);
        verdict.beside_by = s.beside;
      }
    }
    return std::move(out_);
  }

 private:
  // A resistance that lets no more through than the wire carries needs no device.
  bool conducts_fault(const Branch& b, double allowed_a) const {
    if (is_conductor(circuit_, b)) return true;
    if (b.type != BranchType::resistance) return false;
    const Datum& ohm = loom_.elements.resistances[b.index].ohm;
    return ohm && highest_v_[b.island] / *ohm > allowed_a;
  }

  // Packs may stand in a row; what charges or feeds them stands beside them.
  void find_highest() {
    std::vector<double> in_row(circuit_.island_nodes.size(), 0.0);
    highest_v_ = in_row;
    for (std::size_t s = 0; s < ends_.size(); ++s) {
      const int island = circuit_.island_of[ends_[s].first];
      const bool is_pack = s < loom_.elements.sources.size() && loom_.elements.sources[s].sinks;
      if (is_pack) in_row[island] += source_v_[s];
      highest_v_[island] = std::max({highest_v_[island], source_v_[s], in_row[island]});
    }
  }

  // --- loops without any device ---

  struct Lengths {
    std::vector<double> bare, sheathed;  // by node: from the nearest pole of its piece
  };

  Lengths lengths_from_poles(const BranchFilter& passes, double allowed_a) const {
    std::vector<std::size_t> starts;
    for (std::size_t s = 0; s < poles_; ++s) {
      if (source_limit_[s] <= allowed_a) continue;
      starts.push_back(static_cast<std::size_t>(ends_[s].first));
      starts.push_back(static_cast<std::size_t>(ends_[s].second));
    }
    return {wire_length_from_any(graph_, circuit_, starts, passes, false),
            wire_length_from_any(graph_, circuit_, starts, passes, true)};
  }

  // From the nearest pole to the point of the wire that is farthest from every pole: in its middle where both its ends
  // are near one.
  static double farthest_m(const Branch& b, const std::vector<double>& from, double own_m) {
    return std::max({from[b.a], from[b.b], (from[b.a] + from[b.b] + own_m) / 2});
  }

  bool within_allowance(const Branch& b, const Lengths& lengths) const {
    const Wire& wire = loom_.wires[b.index];
    if (!wire.length) return false;
    const double bare_m = wire.length->value.value;
    const double sheathed_m = wire.sheathed ? bare_m : std::numeric_limits<double>::infinity();
    constexpr double slack = 1e-9;
    return farthest_m(b, lengths.bare, bare_m) <= bare_lead_allowed.value + slack ||
           farthest_m(b, lengths.sheathed, sheathed_m) <= sheathed_lead_allowed.value + slack;
  }

  struct Pieces {
    std::vector<int> piece;    // by node
    std::vector<int> cluster;  // by piece: tied together by sources
    std::vector<char> drives;  // by source: gives more than the wire carries, alone or with others beside it
    int count = 0;
  };

  Pieces pieces_of(const BranchFilter& passes, double allowed_a) const {
    Pieces p;
    p.piece = components(graph_, circuit_, passes);
    p.count = p.piece.empty() ? 0 : *std::max_element(p.piece.begin(), p.piece.end()) + 1;
    p.cluster.resize(p.count);
    std::iota(p.cluster.begin(), p.cluster.end(), 0);
    const auto top = [&](int i) {
      while (p.cluster[i] != i) i = p.cluster[i] = p.cluster[p.cluster[i]];
      return i;
    };
    // Sources that limit themselves add up where nothing stands between them.
    std::vector<double> together_a(p.count, 0.0);
    for (std::size_t s = 0; s < ends_.size(); ++s) {
      if (!std::isfinite(source_limit_[s]) || source_v_[s] <= 0) continue;
      together_a[p.piece[ends_[s].first]] += source_limit_[s];
      if (p.piece[ends_[s].first] != p.piece[ends_[s].second]) together_a[p.piece[ends_[s].second]] += source_limit_[s];
    }
    p.drives.assign(ends_.size(), 0);
    for (std::size_t s = 0; s < ends_.size(); ++s) {
      // Both its poles must be shared with the others for their currents to meet in one fault.
      const double given_a = std::isfinite(source_limit_[s])
                                 ? std::min(together_a[p.piece[ends_[s].first]], together_a[p.piece[ends_[s].second]])
                                 : source_limit_[s];
      if (given_a <= allowed_a || source_v_[s] <= 0) continue;
      p.drives[s] = 1;
      p.cluster[top(p.piece[ends_[s].first])] = top(p.piece[ends_[s].second]);
    }
    for (int i = 0; i < p.count; ++i) p.cluster[i] = top(i);
    return p;
  }

  void bare_leads() {
    // Without the sources that limit themselves: what they feed is judged wire by wire.
    const double strong = std::numeric_limits<double>::max();
    const BranchFilter passes = [&](const Branch& b) { return b.type != BranchType::fuse && conducts_fault(b, 0); };
    const Pieces p = pieces_of(passes, strong);
    const Lengths lengths = lengths_from_poles(passes, strong);
    struct Piece {
      std::vector<std::size_t> wires;
      double metres = 0;
    };
    std::map<int, std::map<int, Piece>> reachable;  // cluster -> piece -> wires beyond the allowance
    for (std::size_t w = 0; w < loom_.wires.size(); ++w) {
      const Branch& b = circuit_.branches[circuit_.wire_branch[w]];
      if (std::isinf(lengths.bare[b.a])) continue;  // no strong source without a device
      if (within_allowance(b, lengths)) continue;
      Piece& piece = reachable[p.cluster[p.piece[b.a]]][p.piece[b.a]];
      piece.wires.push_back(w);
      piece.metres += loom_.wires[w].length ? loom_.wires[w].length->value.value : 1;
    }
    for (auto& [cluster, pieces] : reachable) {
      if (pieces.size() < 2) continue;
      // The device belongs where less conductor has to go behind it; on the positive side when that is a tie.
      const auto order = [&](const auto& piece) {
        return std::pair(std::lround(piece.second.metres * 1e3), !has_positive(piece.first, p));
      };
      const auto largest = std::max_element(pieces.begin(), pieces.end(),
                                            [&](const auto& a, const auto& b) { return order(a) < order(b); });
      const BareLead other = bare_lead(largest->first, largest->second.wires, p, lengths);
      for (auto& [piece, list] : pieces) {
        if (piece == largest->first) continue;
        BareLead lead = bare_lead(piece, list.wires, p, lengths);
        lead.other_pole = other.pole;
        lead.other_wire = other.wires.front();
        for (const WireIndex w : lead.wires) {
          bare_[w.value] = 1;
          out_.wires[w.value].state = WireProtection::State::none;
        }
        out_.bare_leads.push_back(std::move(lead));
      }
    }
  }

  bool has_positive(int piece, const Pieces& p) const {
    const auto lies_in = [&](TerminalIndex t) { return p.piece[circuit_.node(t)] == piece; };
    return std::any_of(loom_.elements.sources.begin(), loom_.elements.sources.end(),
                       [&](const Source& s) { return lies_in(s.pos); }) ||
           std::any_of(loom_.elements.converters.begin(), loom_.elements.converters.end(),
                       [&](const Converter& c) { return lies_in(c.out_pos); });
  }

  BareLead bare_lead(int piece, std::vector<std::size_t> wires, const Pieces& p, const Lengths& lengths) const {
    BareLead lead;
    bool found = false;
    const auto try_pole = [&](TerminalIndex t) {
      if (found || p.piece[circuit_.node(t)] != piece) return;
      lead.pole = t;
      found = true;
    };
    for (const Source& s : loom_.elements.sources) {
      try_pole(s.pos);
      try_pole(s.neg);
    }
    for (const Converter& c : loom_.elements.converters) {
      try_pole(c.out_pos);
      try_pole(c.out_neg);
    }
    const auto near = [&](std::size_t w) {
      const Branch& b = circuit_.branches[circuit_.wire_branch[w]];
      return std::min(lengths.bare[b.a], lengths.bare[b.b]);
    };
    std::stable_sort(wires.begin(), wires.end(), [&](std::size_t a, std::size_t b) { return near(a) < near(b); });
    bool all_sheathed = true;
    for (std::size_t w : wires) {
      const Branch& b = circuit_.branches[circuit_.wire_branch[w]];
      lead.wires.push_back(WireIndex{w});
      const auto& length = loom_.wires[w].length;
      lead.length = std::max(lead.length, Metre(farthest_m(b, lengths.bare, length ? length->value.value : 0)));
      all_sheathed = all_sheathed && loom_.wires[w].sheathed;
    }
    lead.allowed = all_sheathed ? sheathed_lead_allowed : bare_lead_allowed;
    return lead;
  }

  // --- loops whose devices do not protect ---

  bool protects(const WireClass& c, std::size_t fuse) const { return c.by_fuse[fuse] && c.by_fuse[fuse]->protects(); }

  void judge(const WireClass& c) {
    const BranchFilter passes = [&](const Branch& b) {
      if (b.type == BranchType::fuse && protects(c, b.index)) return false;
      return conducts_fault(b, c.allowed_a);
    };
    const Pieces p = pieces_of(passes, c.allowed_a);
    const Lengths lengths = lengths_from_poles(passes, c.allowed_a);
    // Conductors of every piece that can be touched, and are not bare for a reason of their own: those of a wire's own
    // circuit anywhere, others in a shared bundle or by way of the frame.
    std::map<std::pair<int, int>, Touchables> of_circuit, in_bundle;  // cluster and circuit, cluster and bundle
    std::vector<Touchables> of_cluster(p.count);
    for (std::size_t w = 0; w < loom_.wires.size(); ++w) {
      const Branch& b = circuit_.branches[circuit_.wire_branch[w]];
      if (bare_[w] != 0 || short_lead(b, lengths)) continue;
      const int piece = p.piece[b.a];
      const int cluster = p.cluster[piece];
      of_cluster[cluster].add(piece, w);
      of_circuit[{cluster, paths_.own_circuit[b.a]}].add(piece, w);
      for (BundleIndex bundle : loom_.wires[w].bundles)
        in_bundle[{cluster, static_cast<int>(bundle.value)}].add(piece, w);
    }
    for (std::size_t w : c.wires) {
      if (bare_[w] != 0) continue;
      const Branch& b = circuit_.branches[circuit_.wire_branch[w]];
      WireProtection& verdict = out_.wires[w];
      verdict.allowed = Ampere(c.allowed_a);
      const int own = p.piece[b.a];
      const int cluster = p.cluster[own];
      std::optional<std::size_t> other;
      const auto look = [&](const auto& places, int place) {
        const auto at = places.find({cluster, place});
        if (!other && at != places.end()) other = at->second.other_than(own);
      };
      look(of_circuit, paths_.own_circuit[b.a]);
      for (BundleIndex bundle : loom_.wires[w].bundles) look(in_bundle, static_cast<int>(bundle.value));
      if (!other && paths_.in_frame_faults[w] != 0) other = of_cluster[cluster].other_than(own);
      if (!other) {
        settled(w, c, p);
      } else if (short_lead(b, lengths) || short_tap(b, c, passes)) {
        verdict.state = WireProtection::State::short_lead;
        hold_against_device_in_row(w, c);
      } else {
        endangered(w, *other, c, p, passes);
      }
    }
  }

  // Short leads end at the first device of any kind, so their length is counted without passing one.
  bool short_lead(const Branch& b, const Lengths&) const {
    if (!device_free_) {
      const BranchFilter passes = [&](const Branch& x) {
        return x.type != BranchType::fuse && is_conductor(circuit_, x);
      };
      device_free_ = lengths_from_poles(passes, 0);
    }
    return within_allowance(b, *device_free_);
  }

  // A thin wire tapped off a thicker one that ends at its own device, or at a resistor that lets no more through than
  // it carries, within the length that a source lead may have: the tap is its source of power. A splice in it changes
  // nothing.
  bool short_tap(const Branch& wire, const WireClass& c, const BranchFilter& passes) const {
    const std::optional<WireRun> run = run_of(circuit_, wire);
    if (!run || run->length > (loom_.wires[wire.index].sheathed ? sheathed_lead_allowed : bare_lead_allowed))
      return false;
    const auto ends_at_device = [&](int node) {
      bool device = false;
      for (std::size_t i : circuit_.island_branches[wire.island]) {
        const Branch& b = circuit_.branches[i];
        if ((b.a != node && b.b != node) ||
            std::find(run->branches.begin(), run->branches.end(), i) != run->branches.end())
          continue;
        if (passes(b)) return false;
        device |= (b.type == BranchType::fuse && protects(c, b.index)) || b.type == BranchType::resistance;
      }
      return device;
    };
    return ends_at_device(run->from) || ends_at_device(run->to);
  }

  // A length without a device is excused for a short of the lead itself. A fault behind the fuse at its end runs
  // through the lead as well, and that one the fuse has to end in time.
  void hold_against_device_in_row(std::size_t w, const WireClass& c) {
    WireProtection& verdict = out_.wires[w];
    std::optional<std::size_t> best;
    for (std::size_t f : fuses_in_row(circuit_, circuit_.branches[circuit_.wire_branch[w]])) {
      const auto& found = c.in_row[f];
      if (!found || found->protects()) return;  // one without rating or curve is asked for by what lies behind it
      if (!best || found->ratio < c.in_row[*best]->ratio) best = f;
    }
    if (!best) return;
    verdict.fuse = best;
    verdict.coordination = *c.in_row[*best];
    verdict.state = WireProtection::State::oversize;
    verdict.behind = true;
  }

  // In no danger: name the device with least to spare among those that end its piece, or the limit that spares it.
  void settled(std::size_t w, const WireClass& c, const Pieces& p) {
    WireProtection& verdict = out_.wires[w];
    const int own = p.piece[circuit_.branches[circuit_.wire_branch[w]].a];
    for (const Branch& b : circuit_.branches) {
      if (b.type != BranchType::fuse || !protects(c, b.index)) continue;
      if (p.piece[b.a] != own && p.piece[b.b] != own) continue;
      if (verdict.fuse && c.by_fuse[b.index]->ratio <= verdict.coordination.ratio) continue;
      verdict.fuse = b.index;
      verdict.coordination = *c.by_fuse[b.index];
      verdict.state = WireProtection::State::device;
    }
    if (verdict.fuse) return;
    for (std::size_t s = 0; s < poles_; ++s) {
      if (p.piece[ends_[s].first] == own || p.piece[ends_[s].second] == own) {
        verdict.state =
            source_limit_[s] <= c.allowed_a ? WireProtection::State::limited : WireProtection::State::device;
      }
    }
  }

  void endangered(std::size_t w, std::size_t other, const WireClass& c, const Pieces& p, const BranchFilter& passes) {
    WireProtection& verdict = out_.wires[w];
    verdict.touches = WireIndex{other};
    const Branch& own = circuit_.branches[circuit_.wire_branch[w]];
    const Branch& met = circuit_.branches[circuit_.wire_branch[other]];
    // The loop: from the wire to a pole of a source, through it, and from its other pole to what it touches.
    std::optional<std::size_t> best;
    bool unknown = false;
    bool walked = false;
    for (std::size_t s = 0; s < supplies_.size(); ++s) {
      const Supply& supply = supplies_[s];
      if (s < poles_ ? p.drives[s] == 0 : supply.limit_a <= c.allowed_a) continue;
      const auto forth = std::pair(supply.pos, supply.neg);
      for (const auto& [near, far] : {forth, std::pair(forth.second, forth.first)}) {
        if (p.piece[near] != p.piece[own.a] || p.piece[far] != p.piece[met.a]) continue;
        walked = true;
        for (const auto& walk : {walk_between(graph_, circuit_, own.a, near, passes),
                                 walk_between(graph_, circuit_, met.a, far, passes)}) {
          for (std::size_t i : walk) {
            const Branch& b = circuit_.branches[i];
            if (b.type != BranchType::fuse) continue;
            if (!c.by_fuse[b.index]) {
              unknown = true;
              if (!best) best = b.index;
              continue;
            }
            if (!best || !c.by_fuse[*best] || c.by_fuse[b.index]->ratio < c.by_fuse[*best]->ratio) best = b.index;
          }
        }
      }
      if (walked) break;
    }
    verdict.fuse = best;
    if (best && !c.by_fuse[*best]) {
      verdict.state = WireProtection::State::unknown;
      const Fuse& fuse = loom_.elements.fuses[*best];
      verdict.missing = fuse.rated_a ? "curve" : "rated";
    } else if (best) {
      verdict.state = WireProtection::State::oversize;
      verdict.coordination = *c.by_fuse[*best];
    } else {
      verdict.state = WireProtection::State::none;
    }
    if (best && unknown && verdict.state == WireProtection::State::oversize) {
      // Another device of the loop might still protect it.
      verdict.state = WireProtection::State::unknown;
      verdict.missing = "curve";
    }
  }

  const Circuit& circuit_;
  const CircuitGraph& graph_;
  const Loom& loom_;
  const FaultPaths& paths_;
  const std::vector<WireClass> classes_;
  std::vector<double> source_limit_, source_v_;
  struct Supply {
    int pos, neg;  // nodes
    double limit_a;
  };
  std::vector<Supply> supplies_;
  std::vector<std::pair<int, int>> ends_;  // pos and neg node of every source, then converters, then regenerating ones
  std::size_t poles_ = 0;                  // of them those of sources and converters
  std::vector<double> highest_v_;          // by island: the most that a fault meets
  std::vector<char> bare_;                 // by wire: has a finding of its own for want of any device
  mutable std::optional<Lengths> device_free_;
  Protection out_;
};

}  // namespace

Protection protection_of(const Circuit& circuit, const CircuitGraph& graph, const FaultPaths& paths,
                         const std::vector<FuseFault>& faults, const std::vector<WireHeat>& heat) {
  return Loops(circuit, graph, paths, faults, heat).find();
}

}  // namespace loomproof
