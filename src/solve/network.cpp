// Voltages and currents of the whole loom in one situation.
#include "solve/network.h"

#include <algorithm>
#include <cmath>
#include <deque>
#include <utility>

#include <Eigen/SparseCholesky>
#include <Eigen/SparseCore>

#include "solve/logic.h"

namespace loomproof {
namespace {

using Matrix = Eigen::SparseMatrix<double>;

enum class Mode : std::uint8_t { off, volts, limit };  // of a source or converter output

constexpr int most_iterations = 200;
constexpr int most_logic_steps = 60;
constexpr int most_flips = 6;
constexpr double settled_share = 1e-9;
constexpr double least_live_v = 1.0;
constexpr double least_bus_v = 1e-3;
constexpr double settled_output_a = 1e-8;  // of a converter; above what rounding leaves

struct IslandMatrix {
  Matrix g;  // lower triangle
  Eigen::SimplicialLDLT<Matrix> factor;
  std::vector<double*> diagonal;  // by local node
  struct Slots {
    double* aa;
    double* bb;
    double* ab;
  };
  std::vector<Slots> slots;           // by position in the island's branch list
  std::vector<double> conductance;    // by position, as assembled
  std::vector<std::size_t> variable;  // positions of branches whose conductance is not always the same
  std::vector<double> fixed_values;   // of the matrix with the other branches only
  std::vector<int> fixed_top;         // by local node: joined by the other branches
  std::vector<std::size_t> pushing;   // branches that may push a current of their own
  std::vector<double> pushed;         // their currents in the last solution, then those of the lead pairs
  std::vector<double> pushing_now;
  std::vector<int> piece;  // by local node
  Eigen::VectorXd rhs, v;
  bool assembled = false;  // pieces and values are those of `conductance`
  bool factored = false;   // and so is the factorisation
  bool solved = false;     // and v answers to `pushed`
};

// Branches whose state the solution may change while it settles.
bool is_active(const Circuit& circuit, const Branch& b) {
  switch (b.type) {
    case BranchType::source:
    case BranchType::converter_in:
    case BranchType::converter_out:
    case BranchType::diode:
      return true;
    case BranchType::load:
      return circuit.loom->elements.loads[b.index].form != Load::Form::resistive;
    default:
      return false;
  }
}

bool is_variable(const Circuit& circuit, const Branch& b) {
  return is_active(circuit, b) || b.type == BranchType::contact || b.type == BranchType::divider_upper ||
         b.type == BranchType::divider_lower;
}

}  // namespace

struct Network::Inside {
  explicit Inside(const Circuit& c) : circuit(c), loom(*c.loom) { build(); }

  const Circuit& circuit;
  const Loom& loom;
  std::deque<IslandMatrix> islands;  // a factorisation does not move
  std::vector<int> up;               // scratch of the union-find
  std::vector<std::size_t> active;   // branches to look at after every solution

  // State of the nonlinear branches in the settle under way.
  std::vector<Mode> source_mode, out_mode;
  std::vector<std::uint8_t> diode_on, load_low, in_low;
  std::vector<int> load_flips, in_flips;
  std::vector<double> load_current, in_current;  // when not in their low mode
  std::vector<double> duty_current;              // by load, from its channel
  std::vector<double> pair_current;              // by lead pair

  void build() {
    for (std::size_t k = 0; k < circuit.island_nodes.size(); ++k) {
      IslandMatrix& island = islands.emplace_back();
      const int n = static_cast<int>(circuit.island_nodes[k].size());
      std::vector<Eigen::Triplet<double>> entries;
      for (int i = 0; i < n; ++i) entries.emplace_back(i, i, 1.0);
      for (std::size_t b : circuit.island_branches[k]) {
        const auto [i, j] = locals(circuit.branches[b]);
        if (i != j) entries.emplace_back(std::max(i, j), std::min(i, j), 1.0);
      }
      island.g.resize(n, n);
      island.g.setFromTriplets(entries.begin(), entries.end());
      island.g.makeCompressed();
      for (int i = 0; i < n; ++i) island.diagonal.push_back(&island.g.coeffRef(i, i));
      for (std::size_t b : circuit.island_branches[k]) {
        const auto [i, j] = locals(circuit.branches[b]);
        double* ab = i == j ? nullptr : &island.g.coeffRef(std::max(i, j), std::min(i, j));
        island.slots.push_back({island.diagonal[i], island.diagonal[j], ab});
      }
      island.factor.analyzePattern(island.g);
      island.conductance.assign(circuit.island_branches[k].size(), 0);
      up.resize(circuit.nodes);
      lay_fixed(k);
      island.piece.assign(n, 0);
      island.rhs.resize(n);
      island.v.setZero(n);
    }
    for (std::size_t b = 0; b < circuit.branches.size(); ++b) {
      if (is_active(circuit, circuit.branches[b])) active.push_back(b);
    }
  }

  // The part of an island's matrix that never changes.
  void lay_fixed(std::size_t k) {
    IslandMatrix& island = islands[k];
    const auto& list = circuit.island_branches[k];
    OperatingPoint nowhere;
    std::fill(island.g.valuePtr(), island.g.valuePtr() + island.g.nonZeros(), 0.0);
    for (std::size_t j = 0; j < list.size(); ++j) {
      const Branch& b = circuit.branches[list[j]];
      if (is_active(circuit, b)) island.pushing.push_back(list[j]);
      if (is_variable(circuit, b)) {
        island.variable.push_back(j);
        continue;
      }
      island.conductance[j] = conductance(b, nowhere);
      add_conductance(island.slots[j], island.conductance[j]);
    }
    island.fixed_values.assign(island.g.valuePtr(), island.g.valuePtr() + island.g.nonZeros());
    const auto& nodes = circuit.island_nodes[k];
    for (std::size_t i = 0; i < nodes.size(); ++i) up[i] = static_cast<int>(i);
    for (std::size_t j = 0; j < list.size(); ++j) {
      if (island.conductance[j] > 0) join(circuit.branches[list[j]], nodes);
    }
    for (std::size_t i = 0; i < nodes.size(); ++i) island.fixed_top.push_back(top(static_cast<int>(i)));
  }

  static void add_conductance(const IslandMatrix::Slots& slot, double g) {
    if (slot.ab == nullptr) return;
    *slot.aa += g;
    *slot.bb += g;
    *slot.ab -= g;
  }

  std::pair<int, int> locals(const Branch& b) const { return {circuit.local_of[b.a], circuit.local_of[b.b]}; }

  double source_emf(const Source& s, Charge charge) const {
    const Datum& volts = charge == Charge::full ? s.full_v : charge == Charge::nominal ? s.nominal_v : s.empty_v;
    return volts ? *volts * s.share : 0;
  }

  // Lowest voltage at which a constant-current or constant-power load does its work.
  static double live_v(const Load& load) {
    if (!load.channel.empty()) return least_live_v;
    if (load.low_v) return *load.low_v;
    return load.rated_v ? 0.5 * *load.rated_v : least_live_v;
  }
  static double in_live_v(const Converter& c) {
    return c.low_v ? std::max(0.5 * *c.low_v, least_live_v) : least_live_v;
  }

  double load_amps(std::size_t i, double v) const {
    const Load& load = loom.elements.loads[i];
    const double amount = load.amount ? *load.amount : 0;
    if (load.form == Load::Form::power) return amount / std::max(v, live_v(load));
    return amount + duty_current[i];
  }

  double low_conductance(std::size_t i) const {
    const double from_v = live_v(loom.elements.loads[i]);
    return std::max(load_amps(i, from_v), 0.0) / from_v;
  }

  double out_watts(std::size_t i, const OperatingPoint& point) const {
    const Converter& c = loom.elements.converters[i];
    const auto v = voltage(circuit, point, c.out_pos, c.out_neg);
    const double efficiency = c.efficiency && *c.efficiency > 0 ? *c.efficiency : 1;
    const double idle = c.idle_w ? *c.idle_w : 0;
    return idle + std::max(0.0, (v ? v->value : 0) * point.converter_out_a[i]) / efficiency;
  }

  double conductance(const Branch& b, const OperatingPoint& point) const {
    const Elements& all = loom.elements;
    switch (b.type) {
      case BranchType::contact:
        return point.logic.contact_closed[b.index] != 0 ? 1 / b.ohm : 0;
      case BranchType::divider_upper:
      case BranchType::divider_lower: {
        const Divider& d = all.dividers[b.index];
        const Datum& share = d.share[point.situation.positions[d.part.value]];
        const double s = std::clamp(share ? *share : 0.0, 1e-3, 1 - 1e-3);
        return 1 / (b.ohm * (b.type == BranchType::divider_upper ? 1 - s : s));
      }
      case BranchType::load:
        if (all.loads[b.index].form == Load::Form::resistive) return all.loads[b.index].amount ? 1 / b.ohm : 0;
        return load_low[b.index] != 0 ? low_conductance(b.index) : 0;
      case BranchType::source:
        return source_mode[b.index] == Mode::volts ? 1 / b.ohm : 0;
      case BranchType::converter_out:
        return out_mode[b.index] == Mode::volts ? 1 / b.ohm : 0;
      case BranchType::converter_in: {
        if (point.logic.converter_on[b.index] == 0 || in_low[b.index] == 0) return 0;
        const double from_v = in_live_v(all.converters[b.index]);
        return out_watts(b.index, point) / (from_v * from_v);
      }
      case BranchType::diode:
        return diode_on[b.index] != 0 ? 1 / b.ohm : 0;
      default:
        return 1 / b.ohm;
    }
  }

  // Current that the branch pushes into node a and draws from node b besides its conductance.
  double injection(const Branch& b, const OperatingPoint& point) const {
    const Elements& all = loom.elements;
    switch (b.type) {
      case BranchType::source: {
        const Source& s = all.sources[b.index];
        if (source_mode[b.index] == Mode::limit) return *s.limit_a;
        return source_mode[b.index] == Mode::volts ? source_emf(s, point.situation.charge) / b.ohm : 0;
      }
      case BranchType::converter_out: {
        const Converter& c = all.converters[b.index];
        if (out_mode[b.index] == Mode::limit) return *c.limit_a;
        return out_mode[b.index] == Mode::volts && c.volts_v ? *c.volts_v / b.ohm : 0;
      }
      case BranchType::converter_in:
        return point.logic.converter_on[b.index] != 0 && in_low[b.index] == 0 ? -in_current[b.index] : 0;
      case BranchType::load:
        if (all.loads[b.index].form == Load::Form::resistive || load_low[b.index] != 0) return 0;
        return -load_current[b.index];
      case BranchType::diode: {
        const Datum& forward = all.diodes[b.index].forward_v;
        return diode_on[b.index] != 0 ? (forward ? *forward : 0.7) / b.ohm : 0;
      }
      default:
        return 0;
    }
  }

  int top(int i) {
    while (up[i] != i) i = up[i] = up[up[i]];
    return i;
  }

  // Joins two pieces; the better ground stays on top, so the top of a piece is its 0 V.
  void join(const Branch& branch, const std::vector<int>& nodes) {
    const auto [a, b] = locals(branch);
    const int ta = top(a);
    const int tb = top(b);
    if (ta == tb) return;
    if (circuit.ground_rank[nodes[ta]] <= circuit.ground_rank[nodes[tb]]) {
      up[tb] = ta;
    } else {
      up[ta] = tb;
    }
  }

  // Values and pieces of the island's matrix; only what can change is looked at again.
  void assemble(std::size_t k, const OperatingPoint& point) {
    IslandMatrix& island = islands[k];
    const auto& list = circuit.island_branches[k];
    bool changed = !island.assembled;
    for (std::size_t j : island.variable) {
      const double g = conductance(circuit.branches[list[j]], point);
      if (g == island.conductance[j]) continue;
      island.conductance[j] = g;
      changed = true;
    }
    if (!changed) return;
    island.assembled = true;
    island.factored = false;
    island.solved = false;
    const auto& nodes = circuit.island_nodes[k];
    std::copy(island.fixed_top.begin(), island.fixed_top.end(), up.begin());
    for (std::size_t j : island.variable) {
      if (island.conductance[j] > 0) join(circuit.branches[list[j]], nodes);
    }
    for (std::size_t i = 0; i < nodes.size(); ++i) island.piece[i] = top(static_cast<int>(i));
    std::copy(island.fixed_values.begin(), island.fixed_values.end(), island.g.valuePtr());
    for (std::size_t j : island.variable) add_conductance(island.slots[j], island.conductance[j]);
    for (std::size_t i = 0; i < island.piece.size(); ++i) {
      if (island.piece[i] == static_cast<int>(i)) *island.diagonal[i] += 1;
    }
  }

  // Currents pushed into the island; true when they are those of the last solution.
  bool same_pushes(std::size_t k, const OperatingPoint& point) {
    IslandMatrix& island = islands[k];
    island.pushing_now.clear();
    for (std::size_t b : island.pushing) island.pushing_now.push_back(injection(circuit.branches[b], point));
    for (std::size_t p = 0; p < circuit.lead_pairs.size(); ++p) {
      if (circuit.island_of[circuit.lead_pairs[p].from] == static_cast<int>(k))
        island.pushing_now.push_back(pair_current[p]);
    }
    if (island.solved && island.pushing_now == island.pushed) return true;
    island.pushed.swap(island.pushing_now);
    return false;
  }

  void load_rhs(std::size_t k) {
    IslandMatrix& island = islands[k];
    island.rhs.setZero();
    std::size_t i = 0;
    const auto push = [&](int into, int from) {
      island.rhs[circuit.local_of[into]] += island.pushed[i];
      island.rhs[circuit.local_of[from]] -= island.pushed[i];
      ++i;
    };
    for (std::size_t b : island.pushing) push(circuit.branches[b].a, circuit.branches[b].b);
    for (const LeadPair& pair : circuit.lead_pairs) {
      if (circuit.island_of[pair.from] == static_cast<int>(k)) push(pair.from, pair.to);
    }
  }

  void solve_islands(OperatingPoint& point) {
    for (std::size_t k = 0; k < islands.size(); ++k) {
      IslandMatrix& island = islands[k];
      assemble(k, point);
      if (!same_pushes(k, point)) {
        if (std::all_of(island.pushed.begin(), island.pushed.end(), [](double a) { return a == 0; })) {
          island.v.setZero();  // a dead island needs no factorisation
        } else {
          load_rhs(k);
          if (!island.factored) island.factor.factorize(island.g);
          island.factored = true;
          island.v = island.factor.solve(island.rhs);
        }
        island.solved = true;
      }
      const auto& nodes = circuit.island_nodes[k];
      for (std::size_t i = 0; i < nodes.size(); ++i) {
        point.node_v[nodes[i]] = island.v[static_cast<Eigen::Index>(i)];
        point.piece[nodes[i]] = nodes[island.piece[i]];
      }
    }
  }

  double across(const Branch& b, const OperatingPoint& point) const { return point.node_v[b.a] - point.node_v[b.b]; }
  bool has_path(const Branch& b, const OperatingPoint& point) const { return point.piece[b.a] == point.piece[b.b]; }

  // A source or converter output picks its mode from the voltage that it sees; true when it changed. Without a path
  // from pole to pole it sees none: it stands at its open voltage, whatever the two pieces' 0 V.
  static bool pick_mode(Mode& mode, bool on, bool sinks, double emf_v, double ohm, std::optional<double> limit_a,
                        double v, bool path) {
    const Mode before = mode;
    const double slack = 1e-9 * (std::fabs(emf_v) + 1);
    const double amps = (emf_v - v) / ohm;
    if (!on || emf_v <= 0) {
      mode = Mode::off;
    } else if (!path) {
      mode = Mode::volts;
    } else if (mode == Mode::off) {
      if (v < emf_v - slack) mode = Mode::volts;
    } else if (mode == Mode::volts) {
      if (limit_a && amps > *limit_a * (1 + 1e-9)) {
        mode = Mode::limit;
      } else if (!sinks && v > emf_v + slack) {
        mode = Mode::off;
      }
    } else if (v > emf_v - *limit_a * ohm + slack) {
      mode = Mode::volts;
    }
    return mode != before;
  }

  bool settle_current(double& amps, double wanted) {
    const bool moved = std::fabs(wanted - amps) > settled_share * std::max(1e-3, std::fabs(wanted));
    amps = wanted;
    return moved;
  }

  // Flips between working and starved; one that keeps flipping is starved for good: it hunts, and starved is what it is
  // on average at the bus. Starved is where everything begins, and on a bus with any voltage it is left once at least:
  // a constant power that the bus can well carry could else stay starved by its own starved current. It starts from no
  // current, since of the two voltages at which power balances the higher one is where it runs.
  static bool pick_low(std::uint8_t& low, int& flips, double& amps, double v, double live, bool bistable) {
    const bool starved = v < live && !(bistable && low != 0 && flips == 0 && v > least_bus_v);
    if (starved == (low != 0) || flips > most_flips) return false;
    low = starved ? 1 : 0;
    if (++flips > most_flips) low = 1;
    amps = 0;
    return true;
  }

  bool update(const Branch& b, OperatingPoint& point) {
    const Elements& all = loom.elements;
    // Between pieces that no conductor joins there is no voltage; a diode looks whether it would join them.
    const bool path = has_path(b, point);
    const double v = path || b.type == BranchType::diode ? across(b, point) : 0;
    switch (b.type) {
      case BranchType::source: {
        const Source& s = all.sources[b.index];
        const double emf = source_emf(s, point.situation.charge);
        const bool moved = pick_mode(source_mode[b.index], point.logic.source_on[b.index] != 0, s.sinks, emf, b.ohm,
                                     s.limit_a.value, v, path);
        const Mode mode = source_mode[b.index];
        point.source_a[b.index] = mode == Mode::volts ? (emf - v) / b.ohm : mode == Mode::limit ? *s.limit_a : 0;
        return moved;
      }
      case BranchType::converter_out: {
        const Converter& c = all.converters[b.index];
        const double emf = c.volts_v ? *c.volts_v : 0;
        const bool moved = pick_mode(out_mode[b.index], point.logic.converter_on[b.index] != 0, false, emf, b.ohm,
                                     c.limit_a.value, v, path);
        const Mode mode = out_mode[b.index];
        // The input was looked at before this and must see the change.
        const double amps = mode == Mode::volts ? (emf - v) / b.ohm : mode == Mode::limit ? *c.limit_a : 0;
        const double before = std::exchange(point.converter_out_a[b.index], amps);
        return moved || std::fabs(amps - before) > settled_output_a;
      }
      case BranchType::converter_in: {
        if (point.logic.converter_on[b.index] == 0) {
          point.converter_in_a[b.index] = 0;
          return false;
        }
        if (!path && in_low[b.index] == 0 && in_current[b.index] == 0) return false;  // see starve_cut_off
        const double live = in_live_v(all.converters[b.index]);
        bool moved = pick_low(in_low[b.index], in_flips[b.index], in_current[b.index], v, live, true);
        if (in_low[b.index] == 0 && !moved)
          moved |= settle_current(in_current[b.index], out_watts(b.index, point) / std::max(v, live));
        point.converter_in_a[b.index] = in_low[b.index] != 0 ? conductance(b, point) * v : in_current[b.index];
        return moved;
      }
      case BranchType::load: {
        const Load& load = all.loads[b.index];
        if (!path && load_low[b.index] == 0 && load_current[b.index] == 0) return false;
        const bool bistable = load.form == Load::Form::power;
        bool moved = pick_low(load_low[b.index], load_flips[b.index], load_current[b.index], v, live_v(load), bistable);
        if (load_low[b.index] == 0 && !moved) moved |= settle_current(load_current[b.index], load_amps(b.index, v));
        point.load_a[b.index] = load_low[b.index] != 0 ? low_conductance(b.index) * v : load_current[b.index];
        return moved;
      }
      case BranchType::diode: {
        const Datum& forward = all.diodes[b.index].forward_v;
        const double vf = forward ? *forward : 0.7;
        // A conducting diode that leads nowhere stands at just its forward voltage: rounding must not open it again.
        const double slack = 1e-9 * (std::fabs(v) + 1);
        const bool on = v > (diode_on[b.index] != 0 ? vf - slack : vf + slack);
        const bool moved = on != (diode_on[b.index] != 0);
        if (moved) diode_on[b.index] = on;
        point.diode_a[b.index] = on ? (v - vf) / b.ohm : 0;
        return moved;
      }
      default:
        return false;
    }
  }

  // What works, draws nothing yet and has no path between its poles waits until the sources have settled: beside one at
  // its limit it has none for the step that the source takes to see it. Where none comes, it is cut off. True when
  // there was any.
  bool starve_cut_off(const OperatingPoint& point) {
    bool any = false;
    for (std::size_t b : active) {
      const Branch& branch = circuit.branches[b];
      if (has_path(branch, point)) continue;
      std::uint8_t* low = nullptr;
      if (branch.type == BranchType::load) low = &load_low[branch.index];
      if (branch.type == BranchType::converter_in && point.logic.converter_on[branch.index] != 0)
        low = &in_low[branch.index];
      if (low == nullptr || *low != 0) continue;
      *low = 1;
      any = true;
    }
    return any;
  }

  void solve_nonlinear(OperatingPoint& point) {
    for (int i = 0; i < most_iterations; ++i) {
      solve_islands(point);
      bool moved = false;
      for (std::size_t b : active) moved |= update(circuit.branches[b], point);
      if (!moved && !starve_cut_off(point)) return;
    }
    point.trouble = "the network did not settle";
  }

  void settle_logic(OperatingPoint& point) {
    std::vector<LogicState> seen;
    for (int i = 0; i < most_logic_steps; ++i) {
      solve_nonlinear(point);
      if (!point.trouble.empty()) return;
      LogicState next = next_logic(circuit, point);
      if (next == point.logic) return;
      if (std::find(seen.begin(), seen.end(), next) != seen.end()) {
        point.trouble = "chatters: " + changes_between(loom, point.logic, next);
        return;
      }
      seen.push_back(point.logic);
      point.logic = std::move(next);
      thaw();
    }
    point.trouble = "the switching did not come to rest";
  }

  // A load that hunted in one state of the logic may run well in the next.
  void thaw() {
    std::fill(load_flips.begin(), load_flips.end(), 0);
    std::fill(in_flips.begin(), in_flips.end(), 0);
  }

  // What the settling itself had no use for.
  void finish(OperatingPoint& point) const {
    for (const Branch& b : circuit.branches) {
      if (b.type != BranchType::load || loom.elements.loads[b.index].form != Load::Form::resistive) continue;
      point.load_a[b.index] = has_path(b, point) ? conductance(b, point) * across(b, point) : 0;
    }
    check_residual(point);
  }

  void check_residual(OperatingPoint& point) const {
    for (std::size_t k = 0; k < islands.size(); ++k) {
      const IslandMatrix& island = islands[k];
      for (std::size_t i = 0; i < island.piece.size(); ++i) {
        // What flows through the unit conductance of a 0 V node has no way back: the currents do not add up.
        if (island.piece[i] == static_cast<int>(i)) {
          point.residual_a = std::max(point.residual_a, std::fabs(island.v[static_cast<Eigen::Index>(i)]));
        }
      }
    }
    double largest = 1;
    for (double a : point.source_a) largest = std::max(largest, std::fabs(a));
    if (point.residual_a > 1e-6 * largest && point.trouble.empty()) {
      point.trouble = "currents do not add up: a current is driven where no path takes it";
    }
  }

  void start(OperatingPoint& point) {
    const Elements& all = loom.elements;
    point.node_v.assign(circuit.nodes, 0);
    point.piece.assign(circuit.nodes, 0);
    point.source_a.assign(all.sources.size(), 0);
    point.load_a.assign(all.loads.size(), 0);
    point.converter_in_a.assign(all.converters.size(), 0);
    point.converter_out_a.assign(all.converters.size(), 0);
    point.diode_a.assign(all.diodes.size(), 0);
    source_mode.assign(all.sources.size(), Mode::off);
    out_mode.assign(all.converters.size(), Mode::off);
    diode_on.assign(all.diodes.size(), 0);
    // A constant current has one solution whatever it starts from, so it starts where the last settling left it; a
    // constant power has two, and starts from rest.
    load_low.resize(all.loads.size(), 1);
    for (std::size_t i = 0; i < all.loads.size(); ++i) {
      if (all.loads[i].form == Load::Form::power) load_low[i] = 1;
    }
    in_low.assign(all.converters.size(), 1);
    load_flips.assign(all.loads.size(), 0);
    in_flips.assign(all.converters.size(), 0);
    load_current.assign(all.loads.size(), 0);
    in_current.assign(all.converters.size(), 0);
    duty_current.assign(all.loads.size(), 0);
    pair_current.assign(circuit.lead_pairs.size(), 0);
  }

  // Whether the part can draw or give its duty current here: its load is live, and a motor controller gives torque.
  bool can_work(std::size_t load, bool drawing, const OperatingPoint& point) const {
    const Load& l = loom.elements.loads[load];
    const auto v = voltage(circuit, point, l.pos, l.neg);
    if (!v || v->value < std::max(least_live_v, l.low_v ? *l.low_v * 0.5 : 0)) return false;
    if (!drawing) return true;
    for (std::size_t i = 0; i < loom.elements.outputs.size(); ++i) {
      const Output& o = loom.elements.outputs[i];
      if (o.part == l.part && o.name == "torque") return point.logic.output_on[i] != 0;
    }
    return true;
  }

  // Puts the duty point's currents on; false when a part that it names cannot work in this situation.
  bool apply_duty(const OperatingPoint& point) {
    const DutyPoint& duty = loom.duty[point.situation.duty->value];
    for (const ChannelCurrent& c : duty.currents) {
      for (std::size_t i = 0; i < loom.elements.loads.size(); ++i) {
        const Load& load = loom.elements.loads[i];
        if (load.part != c.part || load.channel != c.channel) continue;
        if (!can_work(i, c.amps.value > 0, point)) return false;
        duty_current[i] = c.amps.value - (load.amount ? *load.amount : 0);
      }
      for (std::size_t p = 0; p < circuit.lead_pairs.size(); ++p) {
        const LeadPair& pair = circuit.lead_pairs[p];
        if (pair.part == c.part && loom.elements.leads[pair.lead].channel == c.channel) pair_current[p] = c.amps.value;
      }
    }
    return true;
  }

  OperatingPoint settle_base(const Situation& situation, LogicState logic) {
    OperatingPoint point;
    point.situation = situation;
    point.situation.duty.reset();
    point.logic = std::move(logic);
    start(point);
    settle_logic(point);
    finish(point);
    return point;
  }

  // The same from a settled neighbour: its logic, modes and currents are the first guess. nullopt when the logic moves,
  // which may mean that from rest it would have come out otherwise.
  std::optional<OperatingPoint> settle_like(const Situation& situation, const OperatingPoint& like) {
    OperatingPoint point = like;
    point.situation = situation;
    point.residual_a = 0;
    point.logic = next_logic(circuit, point);
    std::fill(duty_current.begin(), duty_current.end(), 0);
    std::fill(pair_current.begin(), pair_current.end(), 0);
    thaw();
    solve_nonlinear(point);
    if (!point.trouble.empty() || !(next_logic(circuit, point) == point.logic)) return std::nullopt;
    finish(point);
    return point;
  }

  // Puts a duty point on a settled vehicle; nullopt when it is not possible there. The modes of the branches are those
  // that the settled vehicle left, so the call must follow settle_base or another add_duty of the same base.
  std::optional<OperatingPoint> add_duty(const OperatingPoint& base, DutyIndex duty) {
    std::fill(duty_current.begin(), duty_current.end(), 0);
    std::fill(pair_current.begin(), pair_current.end(), 0);
    OperatingPoint point = base;
    point.residual_a = 0;
    point.situation.duty = duty;
    if (!apply_duty(point)) return std::nullopt;
    thaw();
    settle_logic(point);
    finish(point);
    if (regenerates_into_nothing(point)) return std::nullopt;
    return point;
  }

  // A controller that gives back into a bus without a pack lifts it until it stops by itself: no state that holds. What
  // happens on the way is load-dump's.
  bool regenerates_into_nothing(const OperatingPoint& point) const {
    constexpr double past_its_own_stop = 1.25;  // of its window: a full pack alone does not reach that
    for (std::size_t i = 0; i < loom.elements.loads.size(); ++i) {
      const Load& load = loom.elements.loads[i];
      if (load.channel.empty() || !load.high_v || point.load_a[i] >= 0) continue;
      const auto v = voltage(circuit, point, load.pos, load.neg);
      if (v && v->value > past_its_own_stop * *load.high_v) return true;
    }
    return false;
  }
};

Network::Network(const Circuit& circuit) : inside_(std::make_unique<Inside>(circuit)) {}
Network::~Network() = default;
Network::Network(Network&&) noexcept = default;
Network& Network::operator=(Network&&) noexcept = default;

OperatingPoint Network::settle(const Situation& situation) {
  OperatingPoint base = inside_->settle_base(situation, resting_logic(inside_->loom, situation));
  if (!situation.duty || !base.trouble.empty()) return base;
  if (auto loaded = inside_->add_duty(base, *situation.duty)) return std::move(*loaded);
  base.situation.duty = situation.duty;
  base.trouble = "duty not possible here";
  return base;
}

std::vector<OperatingPoint> Network::settle_with(const Situation& without_duty, const std::vector<DutyIndex>& duties,
                                                 const OperatingPoint* like) {
  std::vector<OperatingPoint> out;
  if (like != nullptr && like->trouble.empty()) {
    if (auto point = inside_->settle_like(without_duty, *like)) out.push_back(std::move(*point));
  }
  if (out.empty()) out.push_back(inside_->settle_base(without_duty, resting_logic(inside_->loom, without_duty)));
  if (!out.front().trouble.empty()) return out;
  for (DutyIndex duty : duties) {
    if (auto loaded = inside_->add_duty(out.front(), duty)) out.push_back(std::move(*loaded));
  }
  return out;
}

OperatingPoint Network::settle_from(const OperatingPoint& before, const Situation& situation) {
  return inside_->settle_base(situation, before.logic);
}

std::optional<Volt> voltage(const Circuit& circuit, const OperatingPoint& point, TerminalIndex a, TerminalIndex b) {
  const int na = circuit.node(a);
  const int nb = circuit.node(b);
  if (circuit.island_of[na] != circuit.island_of[nb] || point.piece[na] != point.piece[nb]) return std::nullopt;
  return Volt(point.node_v[na] - point.node_v[nb]);
}

double branch_current_a(const Circuit& circuit, const OperatingPoint& point, const Branch& b) {
  const double v = point.node_v[b.a] - point.node_v[b.b];
  if (b.type == BranchType::contact && point.logic.contact_closed[b.index] == 0) return 0;
  if (b.type == BranchType::divider_upper || b.type == BranchType::divider_lower) {
    const Divider& d = circuit.loom->elements.dividers[b.index];
    const Datum& share = d.share[point.situation.positions[d.part.value]];
    const double s = std::clamp(share ? *share : 0.0, 1e-3, 1 - 1e-3);
    return v / (b.ohm * (b.type == BranchType::divider_upper ? 1 - s : s));
  }
  return v / b.ohm;
}

Ampere wire_current(const Circuit& circuit, const OperatingPoint& point, WireIndex wire) {
  return Ampere(branch_current_a(circuit, point, circuit.branches[circuit.wire_branch[wire.value]]));
}

}  // namespace loomproof
