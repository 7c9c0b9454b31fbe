// voltage-drop: every consumer gets its voltage, less at most 3 % on the way where it matters and 10 % elsewhere.
//
// Limits: ABYC E-11, 3 % for critical circuits and 10 % for others (tests/reference/drop_limits.csv). Critical are
// lamps and what drives. docs/rules/voltage-drop.md
#include <algorithm>
#include <map>
#include <string>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/supply.h"
#include "solve/supply_rows.h"
#include "units/print.h"

namespace loomproof {
namespace {

constexpr double critical_share = 0.03;
constexpr double other_share = 0.10;

// A wire on the way whose resistance nobody knows, between the load and the nearest supply pole on either side.
std::optional<WireIndex> unknown_on_the_way(const Solved& solved, const std::vector<SupplyRow>& rows,
                                            const Load& load) {
  const Circuit& circuit = solved.circuit;
  const BranchFilter conductor = [&](const Branch& b) { return is_conductor(circuit, b); };
  std::optional<WireIndex> found;
  const auto look_between = [&](int from, int to) {
    bool any = from == to;
    for (std::size_t i : walk_between(solved.graph, circuit, from, to, conductor)) {
      any = true;
      const Branch& b = circuit.branches[i];
      if (b.type != BranchType::wire) continue;
      const Wire& wire = solved.loom->wires[b.index];
      if ((!wire.size || !wire.length) && !found) found = WireIndex{b.index};
    }
    return any;
  };
  const auto look = [&](TerminalIndex end, bool positive) {
    std::vector<int> poles;
    for (const Source& s : solved.loom->elements.sources) poles.push_back(circuit.node(positive ? s.pos : s.neg));
    for (const Converter& c : solved.loom->elements.converters)
      poles.push_back(circuit.node(positive ? c.out_pos : c.out_neg));
    for (int pole : poles) {
      if (circuit.island_of[pole] != circuit.island_of[circuit.node(end)]) continue;
      look_between(circuit.node(end), pole);
    }
  };
  look(load.pos, true);
  look(load.neg, false);
  for (const SupplyRow& row : rows) {
    if (row.links.empty() || circuit.island_of[row.pos] != circuit.island_of[circuit.node(load.pos)]) continue;
    if (!look_between(circuit.node(load.pos), row.pos) || !look_between(circuit.node(load.neg), row.neg)) continue;
    for (const auto& [upper_neg, lower_pos] : row.links) look_between(upper_neg, lower_pos);
  }
  return found;
}

// Poles and taps of every pack: a consumer may lie across a part of one, or across several in series.
std::vector<int> cell_nodes(const Circuit& circuit) {
  std::vector<int> out;
  for (const Source& s : circuit.loom->elements.sources) {
    if (s.zone != Zone::traction || !s.sinks) continue;
    for (const int node : {circuit.node(s.pos), circuit.node(s.neg)}) {
      if (std::find(out.begin(), out.end(), node) == out.end()) out.push_back(node);
    }
  }
  return out;
}

// Volts lost in the leads that tie the packs of a row to one another, where that row feeds from `pos` to `neg`.
double lost_in_links(const std::vector<SupplyRow>& rows, const OperatingPoint& point, const std::vector<int>& piece,
                     int pos, int neg) {
  for (const SupplyRow& row : rows) {
    if (row.links.empty() || row.pos != pos || row.neg != neg) continue;
    double lost_v = 0;
    bool joined = true;
    for (const auto& [upper_neg, lower_pos] : row.links) {
      joined = joined && piece[upper_neg] == piece[lower_pos];
      lost_v += point.node_v[lower_pos] - point.node_v[upper_neg];
    }
    if (joined) return std::max(0.0, lost_v);
  }
  return 0;
}

// Pieces by conductors, each state of the contacts looked at once for all loads.
class PiecesByState {
 public:
  explicit PiecesByState(const Solved& solved) : solved_(solved) {}

  const std::vector<int>& of(const std::vector<std::uint8_t>& closed) {
    auto [at, fresh] = known_.try_emplace(std::string(closed.begin(), closed.end()));
    if (fresh) {
      at->second = components(solved_.graph, solved_.circuit, [&](const Branch& b) {
        return is_conductor(solved_.circuit, b) && (b.type != BranchType::contact || closed[b.index] != 0);
      });
    }
    return at->second;
  }

 private:
  const Solved& solved_;
  std::map<std::string, std::vector<int>> known_;  // by the bytes of `closed`
};

// The largest share lost on a way of conductors alone. A bus that fills through its precharge resistor is not at work
// yet, and a filament does not mind its poles.
Extreme drop_by_conductors(const Solved& solved, const std::vector<SupplyRow>& rows, std::size_t i,
                           PiecesByState& pieces) {
  const Circuit& circuit = solved.circuit;
  const Load& load = solved.loom->elements.loads[i];
  const double rated_v = load.rated_v ? *load.rated_v : load.low_v ? *load.low_v : 2;
  const std::vector<SupplyPoles> supplies = supply_poles(circuit);
  const std::vector<int> cells = cell_nodes(circuit);
  Extreme most;
  for (std::size_t p = 0; p < solved.points.size(); ++p) {
    const OperatingPoint& point = solved.points[p];
    const auto across = voltage(circuit, point, load.pos, load.neg);
    if (!across || point.load_a[i] == 0) continue;
    const bool turned = load.form == Load::Form::resistive && across->value < 0;
    const double v = turned ? -across->value : across->value;
    if (v <= 0.5 * rated_v || (!turned && point.load_a[i] < 0)) continue;
    const std::vector<int>& piece = pieces.of(point.logic.contact_closed);
    const int plus = circuit.node(turned ? load.neg : load.pos), minus = circuit.node(turned ? load.pos : load.neg);
    double supply_v = 0;
    const auto across_it = [&](int pos, int neg) {
      if (piece[pos] != piece[plus] || piece[neg] != piece[minus]) return;
      const double here = point.node_v[pos] - point.node_v[neg] + lost_in_links(rows, point, piece, pos, neg);
      if (here >= v && (supply_v == 0 || here < supply_v)) supply_v = here;
    };
    for (const SupplyPoles& s : supplies) across_it(s.pos, s.neg);
    for (const int pos : cells) {
      for (const int neg : cells) across_it(pos, neg);
    }
    if (supply_v > 0 && (!most || (supply_v - v) / supply_v > most.value)) most = {(supply_v - v) / supply_v, p};
  }
  return most;
}

void judge_voltage_drop(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const bool all_known =
      std::all_of(loom.wires.begin(), loom.wires.end(), [](const Wire& w) { return w.size && w.length; });
  const std::vector<SupplyRow> rows = supply_rows(solved.circuit, solved.points);
  const bool has_links = std::any_of(rows.begin(), rows.end(), [](const SupplyRow& r) { return !r.links.empty(); });
  PiecesByState pieces(solved);
  for (std::size_t i = 0; i < loom.elements.loads.size(); ++i) {
    const Load& load = loom.elements.loads[i];
    if (!is_wired(loom, load.pos) || !is_wired(loom, load.neg)) continue;  // loose-end speaks of it
    const bool many = std::count_if(loom.elements.loads.begin(), loom.elements.loads.end(),
                                    [&](const Load& x) { return x.part == load.part; }) > 1;
    Obligation& owed = ledger.open(rule, subject_of(loom, load, many));
    if (!all_known) {
      if (const auto wire = unknown_on_the_way(solved, rows, load)) {
        const Wire& w = loom.wire(*wire);
        owed.undecided(fmt::format("the drop to '{}' depends on '{}', whose {} is not given", owed.subject.name, w.name,
                                   w.size ? "length" : "size"),
                       fmt::format("write `{}` in wire '{}'", w.size ? "length: 1.2 m" : "size: 1.5 mm2", w.name));
        continue;
      }
    }
    const bool lamp = loom.kind_of(loom.part(load.part)).symbol == "lamp";
    const bool critical = lamp || !load.channel.empty();
    const double limit = critical ? critical_share : other_share;
    Extreme drop = solved.extremes.load_drop[i];
    if (!drop || drop.value > limit || has_links) {
      if (const Extreme own = drop_by_conductors(solved, rows, i, pieces)) drop = own;
    }
    if (!load.amount && load.channel.empty()) {
      owed.undecided(fmt::format("'{}' draws an unknown current", owed.subject.name),
                     ask_for(loom, load, load.amount, "21 W"));
      continue;
    }
    if (!drop) {
      owed.undecided(fmt::format("'{}' is never fed in any situation that was settled", owed.subject.name),
                     "see whether its switch, fuse or supply is wired as meant");
      continue;
    }
    const Figure figure{fmt::format("{:.1f} %", drop.value * 100), fmt::format("{:.0f} %", limit * 100),
                        drop.value / limit};
    if (drop.value <= limit) {
      owed.holds(figure, solved.describe(drop));
      continue;
    }
    const auto v = voltage(solved.circuit, solved.points[*drop.point], load.pos, load.neg);
    owed.broken(fmt::format("'{}' loses {} of its supply on the way and {} is the limit", owed.subject.name,
                            figure.value, figure.limit),
                figure, solved.describe(drop))
        .note(fmt::format("{} is left at its terminals", v ? show(*v) : "nothing"))
        .fix("larger or shorter wires on the way out and back; look at the longest one first");
  }
}

}  // namespace

const Rule voltage_drop{
    .slug = "voltage-drop",
    .group = Group::conductors,
    .severity = Severity::nuisance,
    .promise = "Every consumer gets its voltage, less at most 3 % on the way where it matters and 10 % elsewhere.",
    .judge = judge_voltage_drop,
};

}  // namespace loomproof
