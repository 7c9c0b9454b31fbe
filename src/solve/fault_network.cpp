// The laws of Network over a matrix of which only the changed columns are eliminated again.
#include "solve/fault_network.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numeric>

#include "model/time_limit.h"
#include "solve/branch_laws.h"
#include "solve/settling_limits.h"

namespace loomproof {
namespace {

constexpr int most_fuse_rounds = 12;
constexpr double fault_settled_share = 1e-7;
constexpr double fault_settled_output_a = 1e-7;
constexpr double link_ohm = 20e-6;  // of a stud: a bolted joint
constexpr double never_v = 1e9;

bool pick_fault_low(std::uint8_t& low, std::uint8_t& flips, double& amps, double v, double live, bool bistable) {
  const bool starved = v < live && !(bistable && low != 0 && flips == 0 && v > least_bus_v);
  if (starved == (low != 0) || flips > most_flips) return false;
  low = starved ? 1 : 0;
  if (++flips > most_flips) low = 1;
  amps = 0;
  return true;
}

bool follow_current(double& amps, double wanted) {
  const bool moved = std::fabs(wanted - amps) > fault_settled_share * std::max(1e-3, std::fabs(wanted));
  amps = wanted;
  return moved;
}

}  // namespace

FaultNetwork::FaultNetwork(const Circuit& circuit, const std::vector<Fault>& faults)
    : loom_(*circuit.loom), circuit_(circuit), given_(circuit.loom->elements) {
  circuit_.loom = &loom_;
  lay_lines(faults);
  const Elements& all = loom_.elements;
  forced_contact_.assign(all.contacts.size(), -1);
  point_.node_v.assign(circuit_.nodes, 0);
  point_.piece.assign(circuit_.nodes, 0);
  point_.source_a.assign(all.sources.size(), 0);
  point_.load_a.assign(all.loads.size(), 0);
  point_.converter_in_a.assign(all.converters.size(), 0);
  point_.converter_out_a.assign(all.converters.size(), 0);
  point_.diode_a.assign(all.diodes.size(), 0);
  load_flips_.assign(all.loads.size(), 0);
  in_flips_.assign(all.converters.size(), 0);
  Situation nowhere;
  nowhere.positions.assign(loom_.parts.size(), 0);
  take_situation(nowhere);
  point_.logic = resting_logic(loom_, point_.situation);
  rest(nullptr);
}

void FaultNetwork::lay_lines(const std::vector<Fault>& faults) {
  stud_line_.assign(loom_.terminals.size(), 0);
  std::vector<int> stud_of(loom_.terminals.size(), -1);
  for (const Fault& f : faults) {
    if (f.type == FaultType::ground_lost) stud_of[f.index] = circuit_.nodes++;
  }
  for (const Branch& b : circuit_.branches) {
    Line line{b.type, b.index, b.a, b.b, b.ohm};
    line.active = is_active(circuit_, b);
    line.moves = line.active || b.type == BranchType::contact || b.type == BranchType::divider_upper ||
                 b.type == BranchType::divider_lower || b.type == BranchType::fuse;
    lines_.push_back(line);
  }
  for (std::size_t t = 0; t < stud_of.size(); ++t) {
    if (stud_of[t] < 0) continue;
    for (std::size_t w = 0; w < loom_.wires.size(); ++w) {
      const std::size_t at = circuit_.wire_branch[w];
      if (loom_.wires[w].from.value == t) lines_[at].a = circuit_.branches[at].a = stud_of[t];
      if (loom_.wires[w].to.value == t) lines_[at].b = circuit_.branches[at].b = stud_of[t];
    }
  }
  first_link_ = lines_.size();
  const auto add = [&](int a, int b, double ohm) {
    lines_.push_back({BranchType::resistance, 0, a, b, ohm});
    return lines_.size() - 1;
  };
  for (std::size_t t = 0; t < stud_of.size(); ++t) {
    if (stud_of[t] < 0) continue;
    stud_line_[t] = add(stud_of[t], circuit_.node_of[t], link_ohm);
    circuit_.node_of[t] = stud_of[t];
  }
  first_bridge_ = lines_.size();
  chafe_line_.assign(loom_.wires.size(), 0);
  for (const Fault& f : faults) {
    if (f.type == FaultType::wire_on_frame) {
      chafe_line_[f.index] = add(lines_[circuit_.wire_branch[f.index]].b, circuit_.frame_node, bridge_ohm);
    } else if (f.type == FaultType::pins_bridged) {
      const auto node = [&](std::size_t c) { return circuit_.node(loom_.elements.contacts[c].a); };
      pin_line_.push_back({{f.index, f.other}, add(node(f.index), node(f.other), bridge_ohm)});
    }
  }
  circuit_.island_of.assign(circuit_.nodes, 0);
  circuit_.ground_rank.resize(circuit_.nodes, circuit_.nodes + 1);
  const Elements& all = loom_.elements;
  contact_line_.assign(all.contacts.size(), 0);
  fuse_line_.assign(all.fuses.size(), 0);
  coil_line_.assign(all.coils.size(), lines_.size());
  load_line_.assign(all.loads.size(), 0);
  source_line_.assign(all.sources.size(), 0);
  converter_in_line_.assign(all.converters.size(), 0);
  converter_out_line_.assign(all.converters.size(), 0);
  std::map<std::pair<int, int>, std::size_t> pairs;
  std::vector<std::pair<int, int>> edges;
  at_node_.resize(circuit_.nodes);
  for (std::size_t l = 0; l < lines_.size(); ++l) {
    Line& line = lines_[l];
    const std::pair<int, int> ends = std::minmax(line.a, line.b);
    const auto [found, fresh] = pairs.emplace(ends, edges.size());
    if (fresh) {
      edges.push_back(ends);
      in_pair_.emplace_back();
    }
    line.pair = found->second;
    in_pair_[line.pair].push_back(l);
    if (line.a != line.b) {
      at_node_[line.a].push_back(l);
      at_node_[line.b].push_back(l);
    }
    if (line.moves) moving_.push_back(l);
    if (!line.moves) fixed_.push_back(l);
    if (line.active) active_.push_back(l);
    if (l >= first_link_) continue;
    switch (line.type) {
      case BranchType::contact:
        contact_line_[line.index] = l;
        break;
      case BranchType::fuse:
        fuse_line_[line.index] = l;
        break;
      case BranchType::coil:
        coil_line_[line.index] = l;
        break;
      case BranchType::load:
        load_line_[line.index] = l;
        break;
      case BranchType::source:
        source_line_[line.index] = l;
        break;
      case BranchType::converter_in:
        converter_in_line_[line.index] = l;
        break;
      case BranchType::converter_out:
        converter_out_line_[line.index] = l;
        break;
      default:
        break;
    }
  }
  elimination_.emplace(circuit_.nodes, edges, circuit_.frame_node);
  g_.assign(lines_.size(), -1);
  pair_stale_.assign(edges.size(), 0);
  node_stale_.assign(circuit_.nodes, 0);
  up_.resize(circuit_.nodes);
  grounded_.assign(circuit_.nodes, 0);
  rhs_.assign(circuit_.nodes, 0);
  // The Laplacian of nothing: all is put in by the first refresh.
  for (int n = 0; n < circuit_.nodes; ++n) {
    node_stale_[n] = 1;
    stale_nodes_.push_back(n);
  }
}

void FaultNetwork::set_open(std::size_t line, bool open) {
  if (lines_[line].open == open) return;
  lines_[line].open = open;
  base_stale_ = true;
}

void FaultNetwork::apply(const Fault* fault) {
  for (std::size_t i : blown_) lines_[fuse_line_[i]].open = false;
  blown_.clear();
  if (fault_ != nullptr) {
    for (std::size_t l = 0; l < lines_.size(); ++l) set_open(l, false);
    for (std::size_t i = 0; i < loom_.elements.coils.size(); ++i) loom_.elements.coils[i] = given_.coils[i];
    std::fill(forced_contact_.begin(), forced_contact_.end(), std::int8_t{-1});
    if (bridge_ != 0) base_stale_ = true;
    bridge_ = 0;
    dead_source_.reset();
    dead_converter_.reset();
  }
  fault_ = fault;
  if (fault == nullptr) return;
  const Fault& f = *fault;
  const auto bridge = [&](std::size_t line) {
    bridge_ = line;
    base_stale_ = true;
  };
  switch (f.type) {
    case FaultType::wire_open:
      set_open(circuit_.wire_branch[f.index], true);
      break;
    case FaultType::wire_on_frame:
      bridge(chafe_line_[f.index]);
      break;
    case FaultType::pins_bridged:
      for (const auto& [pins, line] : pin_line_) {
        if (pins == std::pair(f.index, f.other)) bridge(line);
      }
      break;
    case FaultType::connector_unmated:
      for (std::size_t i = 0; i < given_.contacts.size(); ++i) {
        if (given_.contacts[i].part.value == f.index) forced_contact_[i] = 0;
      }
      break;
    case FaultType::switch_stuck:
      break;  // see take_situation
    case FaultType::contact_welded:
      forced_contact_[f.index] = 1;
      break;
    case FaultType::contact_open:
      forced_contact_[f.index] = 0;
      break;
    case FaultType::fuse_open:
      set_open(fuse_line_[f.index], true);
      break;
    case FaultType::coil_open:
      if (coil_line_[f.index] < lines_.size()) set_open(coil_line_[f.index], true);
      loom_.elements.coils[f.index].pull_in_v.value = never_v;
      loom_.elements.coils[f.index].drop_out_v.value = never_v;
      break;
    case FaultType::lamp_out:
      set_open(load_line_[f.index], true);
      break;
    case FaultType::ground_lost:
      set_open(stud_line_[f.index], true);
      break;
    case FaultType::supply_lost:
      set_open(source_line_[f.index], true);
      dead_source_ = f.index;
      break;
    case FaultType::converter_dead:
      set_open(converter_in_line_[f.index], true);
      set_open(converter_out_line_[f.index], true);
      dead_converter_ = f.index;
      break;
  }
}

double FaultNetwork::emf(const Source& s) const {
  const Charge charge = point_.situation.charge;
  const Datum& v = charge == Charge::full ? s.full_v : charge == Charge::nominal ? s.nominal_v : s.empty_v;
  return v ? *v * s.share : 0;
}

double FaultNetwork::load_amps(std::size_t i, double v) const {
  const Load& load = loom_.elements.loads[i];
  const double amount = load.amount ? *load.amount : 0;
  return load.form == Load::Form::power ? amount / std::max(v, live_v(load)) : amount;
}

double FaultNetwork::out_watts(std::size_t i) const {
  const Converter& c = loom_.elements.converters[i];
  const int pos = circuit_.node(c.out_pos), neg = circuit_.node(c.out_neg);
  const double v = point_.piece[pos] == point_.piece[neg] ? point_.node_v[pos] - point_.node_v[neg] : 0;
  const double efficiency = c.efficiency && *c.efficiency > 0 ? *c.efficiency : 1;
  return (c.idle_w ? *c.idle_w : 0) + std::max(0.0, v * point_.converter_out_a[i]) / efficiency;
}

double FaultNetwork::conductance(const Line& line) const {
  if (line.open) return 0;
  const auto l = static_cast<std::size_t>(&line - lines_.data());
  if (l >= first_bridge_) return l == bridge_ ? 1 / line.ohm : 0;
  if (l >= first_link_) return 1 / line.ohm;
  const Elements& all = loom_.elements;
  switch (line.type) {
    case BranchType::contact:
      return point_.logic.contact_closed[line.index] != 0 ? 1 / line.ohm : 0;
    case BranchType::divider_upper:
    case BranchType::divider_lower: {
      const Divider& d = all.dividers[line.index];
      const Datum& share = d.share[point_.situation.positions[d.part.value]];
      const double s = std::clamp(share ? *share : 0.0, 1e-3, 1 - 1e-3);
      return 1 / (line.ohm * (line.type == BranchType::divider_upper ? 1 - s : s));
    }
    case BranchType::load: {
      const Load& load = all.loads[line.index];
      if (load.form == Load::Form::resistive) return load.amount ? 1 / line.ohm : 0;
      if (modes_.load_low[line.index] == 0) return 0;
      return std::max(load_amps(line.index, live_v(load)), 0.0) / live_v(load);
    }
    case BranchType::source:
      return modes_.source[line.index] == volts ? 1 / line.ohm : 0;
    case BranchType::converter_out:
      return modes_.out[line.index] == volts ? 1 / line.ohm : 0;
    case BranchType::converter_in: {
      if (point_.logic.converter_on[line.index] == 0 || modes_.in_low[line.index] == 0) return 0;
      const double from_v = in_live_v(all.converters[line.index]);
      return out_watts(line.index) / (from_v * from_v);
    }
    case BranchType::diode:
      return modes_.diode[line.index] != 0 ? 1 / line.ohm : 0;
    default:
      return 1 / line.ohm;
  }
}

double FaultNetwork::injection(const Line& line) const {
  if (line.open) return 0;
  const Elements& all = loom_.elements;
  switch (line.type) {
    case BranchType::source: {
      const Source& s = all.sources[line.index];
      if (modes_.source[line.index] == limit) return *s.limit_a;
      return modes_.source[line.index] == volts ? emf(s) / line.ohm : 0;
    }
    case BranchType::converter_out: {
      const Converter& c = all.converters[line.index];
      if (modes_.out[line.index] == limit) return *c.limit_a;
      return modes_.out[line.index] == volts && c.volts_v ? *c.volts_v / line.ohm : 0;
    }
    case BranchType::converter_in:
      return point_.logic.converter_on[line.index] != 0 && modes_.in_low[line.index] == 0 ? -modes_.in_a[line.index]
                                                                                          : 0;
    case BranchType::load:
      if (all.loads[line.index].form == Load::Form::resistive || modes_.load_low[line.index] != 0) return 0;
      return -modes_.load_a[line.index];
    case BranchType::diode: {
      const Datum& forward = all.diodes[line.index].forward_v;
      return modes_.diode[line.index] != 0 ? (forward ? *forward : 0.7) / line.ohm : 0;
    }
    default:
      return 0;
  }
}

int FaultNetwork::top(int i) {
  while (up_[i] != i) i = up_[i] = up_[up_[i]];
  return i;
}

void FaultNetwork::restate(std::size_t l) {
  const double g = conductance(lines_[l]);
  if (g == g_[l]) return;
  if ((g > 0) != (g_[l] > 0)) pieces_stale_ = true;
  g_[l] = g;
  const Line& line = lines_[l];
  if (line.a == line.b) return;
  if (pair_stale_[line.pair] == 0) {
    pair_stale_[line.pair] = 1;
    stale_pairs_.push_back(line.pair);
  }
  for (int n : {line.a, line.b}) {
    if (node_stale_[n] != 0) continue;
    node_stale_[n] = 1;
    stale_nodes_.push_back(n);
  }
}

void FaultNetwork::find_pieces() {
  const auto join = [&](const Line& line) {
    const int a = top(line.a), b = top(line.b);
    if (a == b) return;
    if (circuit_.ground_rank[a] <= circuit_.ground_rank[b]) {
      up_[b] = a;
    } else {
      up_[a] = b;
    }
  };
  if (base_top_.empty()) {
    std::iota(up_.begin(), up_.end(), 0);
    for (std::size_t l : fixed_) {
      if (g_[l] > 0) join(lines_[l]);
    }
    base_top_.resize(up_.size());
    for (int n = 0; n < circuit_.nodes; ++n) base_top_[n] = top(n);
  }
  std::copy(base_top_.begin(), base_top_.end(), up_.begin());
  for (std::size_t l : moving_) {
    if (g_[l] > 0) join(lines_[l]);
  }
  for (int n = 0; n < circuit_.nodes; ++n) {
    point_.piece[n] = top(n);
    const std::uint8_t is = point_.piece[n] == n ? 1 : 0;
    if (is == grounded_[n]) continue;
    grounded_[n] = is;
    if (node_stale_[n] == 0) {
      node_stale_[n] = 1;
      stale_nodes_.push_back(n);
    }
  }
  pieces_stale_ = false;
}

void FaultNetwork::refresh() {
  if (base_stale_) {
    for (std::size_t l : fixed_) restate(l);
    base_top_.clear();
    base_stale_ = false;
    pieces_stale_ = true;
  }
  for (std::size_t l : moving_) restate(l);
  if (pieces_stale_) find_pieces();
  for (std::size_t p : stale_pairs_) {
    pair_stale_[p] = 0;
    double sum = 0;
    for (std::size_t l : in_pair_[p]) sum += g_[l];
    elimination_->set_edge(p, -sum);
  }
  stale_pairs_.clear();
  for (int n : stale_nodes_) {
    node_stale_[n] = 0;
    double sum = grounded_[n];
    for (std::size_t l : at_node_[n]) sum += g_[l];
    elimination_->set_diagonal(n, sum);
  }
  stale_nodes_.clear();
}

void FaultNetwork::solve_linear() {
  refresh();
  elimination_->factor();
  std::fill(rhs_.begin(), rhs_.end(), 0.0);
  bool dead = true;
  for (std::size_t l : active_) {
    const double a = injection(lines_[l]);
    if (a == 0) continue;
    dead = false;
    rhs_[lines_[l].a] += a;
    rhs_[lines_[l].b] -= a;
  }
  if (!dead) elimination_->solve(rhs_);
  std::swap(rhs_, point_.node_v);
}

bool FaultNetwork::update(const Line& line) {
  const Elements& all = loom_.elements;
  const bool path = has_path(line);
  const double v = path || line.type == BranchType::diode ? across(line) : 0;
  const std::size_t i = line.index;
  const auto pick = [&](std::uint8_t& mode, bool on, bool sinks, double emf_v, std::optional<double> limit_a) {
    const std::uint8_t before = mode;
    const double slack = 1e-9 * (std::fabs(emf_v) + 1);
    const double amps = (emf_v - v) / line.ohm;
    if (!on || emf_v <= 0) {
      mode = off;
    } else if (!path) {
      mode = volts;
    } else if (mode == off) {
      if (v < emf_v - slack) mode = volts;
    } else if (mode == volts) {
      if (limit_a && amps > *limit_a * (1 + 1e-9)) {
        mode = limit;
      } else if (!sinks && v > emf_v + slack) {
        mode = off;
      }
    } else if (v > emf_v - *limit_a * line.ohm + slack) {
      mode = volts;
    }
    return mode != before;
  };
  switch (line.type) {
    case BranchType::source: {
      const Source& s = all.sources[i];
      const double e = emf(s);
      const bool moved =
          pick(modes_.source[i], point_.logic.source_on[i] != 0 && !line.open, s.sinks, e, s.limit_a.value);
      const std::uint8_t mode = modes_.source[i];
      point_.source_a[i] = mode == volts ? (e - v) / line.ohm : mode == limit ? *s.limit_a : 0;
      return moved;
    }
    case BranchType::converter_out: {
      const Converter& c = all.converters[i];
      const double e = c.volts_v ? *c.volts_v : 0;
      const bool moved =
          pick(modes_.out[i], point_.logic.converter_on[i] != 0 && !line.open, false, e, c.limit_a.value);
      const std::uint8_t mode = modes_.out[i];
      const double amps = mode == volts ? (e - v) / line.ohm : mode == limit ? *c.limit_a : 0;
      const double before = std::exchange(point_.converter_out_a[i], amps);
      return moved || std::fabs(amps - before) > fault_settled_output_a;
    }
    case BranchType::converter_in: {
      if (point_.logic.converter_on[i] == 0 || line.open) {
        point_.converter_in_a[i] = 0;
        return false;
      }
      if (!path && modes_.in_low[i] == 0 && modes_.in_a[i] == 0) return false;
      const double live = in_live_v(all.converters[i]);
      bool moved = pick_fault_low(modes_.in_low[i], in_flips_[i], modes_.in_a[i], v, live, true);
      if (modes_.in_low[i] == 0 && !moved) moved |= follow_current(modes_.in_a[i], out_watts(i) / std::max(v, live));
      point_.converter_in_a[i] = modes_.in_low[i] != 0 ? conductance(line) * v : modes_.in_a[i];
      return moved;
    }
    case BranchType::load: {
      if (line.open) {
        point_.load_a[i] = 0;
        return false;
      }
      const Load& load = all.loads[i];
      if (!path && modes_.load_low[i] == 0 && modes_.load_a[i] == 0) return false;
      const bool bistable = load.form == Load::Form::power;
      bool moved = pick_fault_low(modes_.load_low[i], load_flips_[i], modes_.load_a[i], v, live_v(load), bistable);
      if (modes_.load_low[i] == 0 && !moved) moved |= follow_current(modes_.load_a[i], load_amps(i, v));
      point_.load_a[i] = modes_.load_low[i] != 0 ? conductance(line) * v : modes_.load_a[i];
      return moved;
    }
    case BranchType::diode: {
      const Datum& forward = all.diodes[i].forward_v;
      const double vf = forward ? *forward : 0.7;
      const double slack = 1e-9 * (std::fabs(v) + 1);
      const bool on = !line.open && v > (modes_.diode[i] != 0 ? vf - slack : vf + slack);
      const bool moved = on != (modes_.diode[i] != 0);
      modes_.diode[i] = on;
      point_.diode_a[i] = on ? (v - vf) / line.ohm : 0;
      return moved;
    }
    default:
      return false;
  }
}

bool FaultNetwork::starve_cut_off() {
  bool any = false;
  for (std::size_t l : active_) {
    const Line& line = lines_[l];
    if (line.open || has_path(line)) continue;
    std::uint8_t* low = nullptr;
    if (line.type == BranchType::load) low = &modes_.load_low[line.index];
    if (line.type == BranchType::converter_in && point_.logic.converter_on[line.index] != 0)
      low = &modes_.in_low[line.index];
    if (low == nullptr || *low != 0) continue;
    *low = 1;
    any = true;
  }
  return any;
}

void FaultNetwork::solve_nonlinear() {
  for (int i = 0; i < most_iterations; ++i) {
    solve_linear();
    bool moved = false;
    for (std::size_t l : active_) moved |= update(lines_[l]);
    if (!moved && !starve_cut_off()) return;
  }
  point_.trouble = "the network did not settle";
}

void FaultNetwork::overlay(LogicState& logic) const {
  if (fault_ == nullptr) return;
  for (std::size_t i = 0; i < forced_contact_.size(); ++i) {
    if (forced_contact_[i] >= 0) logic.contact_closed[i] = static_cast<std::uint8_t>(forced_contact_[i]);
  }
  if (dead_source_) logic.source_on[*dead_source_] = 0;
  if (dead_converter_) logic.converter_on[*dead_converter_] = 0;
}

LogicState FaultNetwork::next() {
  LogicState out = next_logic(circuit_, point_);
  overlay(out);
  return out;
}

void FaultNetwork::thaw() {
  std::fill(load_flips_.begin(), load_flips_.end(), std::uint8_t{0});
  std::fill(in_flips_.begin(), in_flips_.end(), std::uint8_t{0});
}

void FaultNetwork::settle_logic() {
  seen_.clear();
  cycle_.clear();
  for (int i = 0; i < most_logic_steps; ++i) {
    thaw();
    solve_nonlinear();
    if (!point_.trouble.empty()) return;
    LogicState then = next();
    if (then == point_.logic) return;
    const auto found = std::find(seen_.begin(), seen_.end(), then);
    if (found != seen_.end()) {
      cycle_.assign(found, seen_.end());
      cycle_.push_back(point_.logic);
      point_.trouble = "chatters: " + changes_between(loom_, point_.logic, then);
      return;
    }
    seen_.push_back(std::move(point_.logic));
    point_.logic = std::move(then);
  }
  point_.trouble = "the switching did not come to rest";
}

// A short through a fuse ends with the fuse; with no fault in it the circuit is what the fuse rules judge.
void FaultNetwork::settle_fuses() {
  settle_logic();
  if (fault_ == nullptr) return;
  for (int round = 0; round < most_fuse_rounds; ++round) {
    bool any = false;
    for (std::size_t i = 0; i < given_.fuses.size(); ++i) {
      Line& line = lines_[fuse_line_[i]];
      if (line.open || !given_.fuses[i].rated_a) continue;
      // A source's limit of exactly that many times is common: rounding must not decide.
      if (std::fabs(across(line)) / line.ohm < (1 - 1e-6) * fuse_opens_at * *given_.fuses[i].rated_a) continue;
      line.open = true;
      blown_.push_back(i);
      any = true;
    }
    if (!any) return;
    point_.trouble.clear();
    settle_logic();
  }
}

void FaultNetwork::rest(const Modes* guess) {
  const Elements& all = loom_.elements;
  modes_.source.assign(all.sources.size(), off);
  modes_.out.assign(all.converters.size(), off);
  modes_.diode.assign(all.diodes.size(), 0);
  modes_.load_low.assign(all.loads.size(), 1);
  modes_.in_low.assign(all.converters.size(), 1);
  modes_.load_a.assign(all.loads.size(), 0);
  modes_.in_a.assign(all.converters.size(), 0);
  modes_.out_a.assign(all.converters.size(), 0);
  std::fill(point_.converter_out_a.begin(), point_.converter_out_a.end(), 0.0);
  if (guess == nullptr) return;
  modes_.source = guess->source;
  modes_.diode = guess->diode;
  for (std::size_t i = 0; i < all.loads.size(); ++i) {
    if (all.loads[i].form == Load::Form::power) continue;
    modes_.load_low[i] = guess->load_low[i];
    modes_.load_a[i] = guess->load_a[i];
  }
}

void FaultNetwork::take_situation(const Situation& situation) {
  for (std::size_t i : blown_) lines_[fuse_line_[i]].open = false;
  blown_.clear();
  point_.trouble.clear();
  point_.situation.positions = situation.positions;
  point_.situation.charge = situation.charge;
  if (fault_ != nullptr && fault_->type == FaultType::switch_stuck)
    point_.situation.positions[fault_->index] = static_cast<std::int8_t>(fault_->position);
}

const OperatingPoint& FaultNetwork::settle_from_rest(const Situation& situation, const Modes* guess) {
  go_on();
  take_situation(situation);
  point_.logic = resting_logic(loom_, point_.situation);
  overlay(point_.logic);
  std::fill(point_.node_v.begin(), point_.node_v.end(), 0.0);
  rest(guess);
  settle_fuses();
  return point_;
}

const OperatingPoint& FaultNetwork::settle_from(const Situation& situation, const LogicState& logic, const Modes& modes,
                                                const std::vector<double>& node_v, const std::vector<int>& piece) {
  go_on();
  take_situation(situation);
  point_.logic = logic;
  modes_ = modes;
  point_.converter_out_a = modes.out_a;
  if (!node_v.empty()) {
    point_.node_v = node_v;
    point_.piece = piece;
    pieces_stale_ = true;
    point_.logic = next();
  } else {
    std::fill(point_.node_v.begin(), point_.node_v.end(), 0.0);  // of whatever was settled before
  }
  overlay(point_.logic);
  settle_fuses();
  return point_;
}

const OperatingPoint& FaultNetwork::settle_again() {
  point_.trouble.clear();
  settle_fuses();
  return point_;
}

const OperatingPoint& FaultNetwork::hold(const LogicState& logic) {
  point_.logic = logic;
  point_.trouble.clear();
  thaw();
  solve_nonlinear();
  return point_;
}

FaultNetwork::Modes FaultNetwork::modes() const {
  Modes out = modes_;
  out.out_a = point_.converter_out_a;
  return out;
}

std::vector<FaultNetwork::Edge> FaultNetwork::edges() const {
  std::vector<Edge> out;
  out.reserve(lines_.size());
  for (std::size_t l = 0; l < lines_.size(); ++l) {
    const Line& line = lines_[l];
    if (line.open || (l >= first_bridge_ && l != bridge_)) continue;
    if (l < first_link_ && line.type == BranchType::contact && forced_contact_[line.index] == 0) continue;
    out.push_back({line.type, line.index, line.a, line.b, l >= first_link_, line.ohm});
  }
  return out;
}

std::vector<int> FaultNetwork::touched() const {
  std::vector<int> out;
  if (fault_ == nullptr) return out;
  for (std::size_t l = 0; l < lines_.size(); ++l) {
    const Line& line = lines_[l];
    bool is = line.open || (l == bridge_ && l != 0);
    if (l < first_link_ && line.type == BranchType::contact) {
      is |= forced_contact_[line.index] >= 0;
      is |= fault_->type == FaultType::switch_stuck && given_.contacts[line.index].part.value == fault_->index;
    }
    if (is) out.insert(out.end(), {line.a, line.b});
  }
  return out;
}

std::vector<std::size_t> FaultNetwork::undefined_inputs() const {
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < given_.inputs.size(); ++i) {
    const Input& input = given_.inputs[i];
    if (input.analogue || !input.on_above_v || !input.off_below_v || *input.off_below_v >= *input.on_above_v) continue;
    const int a = circuit_.node(input.terminal), b = circuit_.node(input.reference);
    if (point_.piece[a] != point_.piece[b]) continue;
    const double v = point_.node_v[a] - point_.node_v[b];
    if (v > *input.off_below_v && v < *input.on_above_v) out.push_back(i);
  }
  return out;
}

void FaultNetwork::force_input(std::size_t i, bool asserted) {
  Input& input = loom_.elements.inputs[i];
  const bool high = asserted == input.active_high;
  input.on_above_v.value = high ? -never_v : 2 * never_v;
  input.off_below_v.value = high ? -2 * never_v : never_v;
}

void FaultNetwork::free_input(std::size_t i) {
  loom_.elements.inputs[i] = given_.inputs[i];
}

double FaultNetwork::current_a(std::size_t branch) const {
  const Line& line = lines_[branch];
  switch (line.type) {
    case BranchType::source:
      return -point_.source_a[line.index];
    case BranchType::converter_out:
      return -point_.converter_out_a[line.index];
    case BranchType::converter_in:
      return point_.converter_in_a[line.index];
    case BranchType::diode:
      return point_.diode_a[line.index];
    case BranchType::load:
      if (loom_.elements.loads[line.index].form != Load::Form::resistive) return point_.load_a[line.index];
      [[fallthrough]];
    default:
      return line.open || !has_path(line) ? 0 : across(line) * g_[branch];
  }
}

}  // namespace loomproof
