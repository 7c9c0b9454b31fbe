// Voltages and currents of the whole loom in one situation.
#include "solve/network.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "model/time_limit.h"
#include "solve/branch_laws.h"
#include "solve/conductor_pieces.h"
#include "solve/linear_network.h"
#include "solve/logic.h"
#include "solve/settling_limits.h"

namespace loomproof {
namespace {

constexpr double least_working_v = 1.0;
// A bus that regeneration lifts by more than this share above its battery is not in earnest connected to it.
constexpr double dump_share = 0.25;

double divider_ohm(const Circuit& circuit, const Branch& b, const Situation& situation) {
  const Divider& d = circuit.loom->elements.dividers[b.index];
  const Datum& share = d.share[situation.positions[d.part.value]];
  const double s = std::clamp(share ? *share : 0.0, 1e-3, 1 - 1e-3);
  return b.ohm * (b.type == BranchType::divider_upper ? 1 - s : s);
}

}  // namespace

// What the contacts then do follows from this and the switches.
bool remembers_same(const LogicState& a, const LogicState& b) {
  return a.coil_on == b.coil_on && a.input_on == b.input_on && a.output_on == b.output_on &&
         a.source_on == b.source_on && a.converter_on == b.converter_on;
}

struct Network::Inside {
  Inside(const Circuit& c, bool opens_contacts)
      : circuit(c), loom(*c.loom), linear(c, opens_contacts), laws(c), logic(c), conductors(c, true) {
    for (std::size_t i = 0; i < c.branches.size(); ++i) {
      const Branch& b = c.branches[i];
      if (is_active(c, b)) actives.push_back({i, 0, true});
      if (b.type == BranchType::converter_out) converters.emplace_back(actives.size() - 2, actives.size() - 1);
      if (b.type == BranchType::contact) contacts.push_back(i);
      if (b.type == BranchType::divider_upper || b.type == BranchType::divider_lower) dividers.push_back(i);
      if (b.type == BranchType::load && !is_active(c, b)) resistive_loads.push_back(i);
    }
    now.node_v.assign(c.nodes, 0);
    now.piece.assign(c.nodes, 0);
    sort_by_island();
  }

  void sort_by_island() {
    of_island.assign(linear.islands(), {});
    awake.assign(linear.islands(), 1);
    for (std::size_t i = 0; i < actives.size(); ++i) {
      actives[i].island = linear.island_of(actives[i].branch);
      of_island[actives[i].island].push_back(i);
    }
  }

  struct Active {
    std::size_t branch = 0;
    std::size_t island = 0;
    bool moved = true;  // its state, since its island was last solved
  };

  const Circuit& circuit;
  const Loom& loom;
  LinearNetwork linear;
  BranchLaws laws;
  BranchLaws::State base_laws;  // as the last settling without duty left them, once a duty point came
  bool base_is_kept = false;
  Logic logic;
  ConductorPieces conductors;
  std::vector<Active> actives;
  std::vector<std::vector<std::size_t>> of_island;               // actives
  std::vector<std::pair<std::size_t, std::size_t>> converters;   // actives: input, output
  std::vector<std::uint8_t> awake;                               // by island: not known to have settled
  std::vector<std::size_t> contacts, dividers, resistive_loads;  // branches
  OperatingPoint now;                                            // its node_v and piece are what `linear` last wrote
  OperatingPoint seen_before;                                    // scratch
  LogicState next;
  std::vector<LogicState> seen;
  std::size_t written = 0;  // steps of a trail

  void alter(const CircuitChange& change) {
    std::fill(laws.opened.begin(), laws.opened.end(), 0);
    LogicFault fault = change.logic;
    for (std::size_t i : change.open) {
      laws.opened[i] = 1;
      if (circuit.branches[i].type == BranchType::coil) fault.dead_coils.push_back(circuit.branches[i].index);
      if (circuit.branches[i].type == BranchType::contact) fault.contacts_open.push_back(circuit.branches[i].index);
    }
    linear.alter(change);
    sort_by_island();
    logic.set_fault(std::move(fault));
  }

  // Islands that nothing moved any more are left alone while the others settle.
  void solve_nonlinear() {
    for (std::size_t k = 0; k < awake.size(); ++k) {
      const auto has_moved = [&](std::size_t i) { return actives[i].moved; };
      const bool wakes = linear.is_stale(k) || std::any_of(of_island[k].begin(), of_island[k].end(), has_moved);
      awake[k] = wakes ? 1 : 0;
    }
    for (int i = 0; i < most_iterations; ++i) {
      bool moved = false;
      for (std::size_t k = 0; k < awake.size(); ++k) {
        if (awake[k] == 0) continue;
        awake[k] = 0;
        if (!step_island(k)) continue;
        awake[k] = 1;
        moved = true;
      }
      for (const auto& [in, out] : converters) {
        if (!actives[out].moved) continue;  // and the input must follow, in its own island
        actives[in].moved = true;
        awake[actives[in].island] = 1;
      }
      if (moved) continue;
      for (Active& a : actives) {
        if (!laws.starve_cut_off(circuit.branches[a.branch], now)) continue;
        a.moved = true;
        awake[a.island] = 1;
        moved = true;
      }
      if (!moved) return;
    }
    now.trouble = "the network did not settle";
  }

  // Solves an island with the states of its branches and lets these look at the voltages; true when one moved.
  bool step_island(std::size_t k) {
    for (std::size_t i : of_island[k]) {
      if (!actives[i].moved) continue;
      const Branch& b = circuit.branches[actives[i].branch];
      linear.set_conductance(actives[i].branch, laws.conductance(b, now));
      linear.set_push(actives[i].branch, laws.injection(b, now));
    }
    const bool solved = linear.solve(k, now);
    bool moved = false;
    for (std::size_t i : of_island[k]) {
      Active& a = actives[i];
      a.moved = (solved || a.moved) && laws.update(circuit.branches[a.branch], now);
      moved |= a.moved;
    }
    return moved;
  }

  void close_contacts() {
    for (std::size_t i : contacts) {
      const Branch& b = circuit.branches[i];
      linear.set_conductance(i, now.logic.contact_closed[b.index] != 0 ? 1 / b.ohm : 0);
    }
  }

  // What the logic makes of a state that was settled before, its switches standing as `situation` says from now on.
  void start_from(const OperatingPoint& before, const Situation& situation) {
    see(before, situation);
    logic.next(seen_before, now.logic, true);
  }

  void see(const OperatingPoint& before, const Situation& situation) {
    go_on();
    start(situation);
    seen_before.situation = now.situation;
    seen_before.node_v = before.node_v;
    seen_before.piece = before.piece;
    seen_before.logic = before.logic;
  }

  struct Guide {
    SettlingTrail* write = nullptr;         // of the steps taken here
    const SettlingTrail* follow = nullptr;  // of a like situation: where the logic goes the same way, its states are
                                            // the first guesses
    const SettlingTrail* known = nullptr;   // of this situation: where the logic comes upon it, the end is known
  };

  // False when it came upon what is known.
  bool settle_logic(const Guide& guide) {
    written = 0;
    for (std::size_t steps = 0;;) {
      if (guide.known != nullptr && std::any_of(guide.known->begin(), guide.known->end(), [&](const SettlingStep& k) {
            return remembers_same(k.logic, now.logic);
          }))
        return false;
      close_contacts();
      if (guide.follow != nullptr && steps < guide.follow->size() &&
          remembers_same((*guide.follow)[steps].logic, now.logic)) {
        adopt((*guide.follow)[steps].laws);
      }
      solve_nonlinear();
      if (!now.trouble.empty()) return true;
      if (guide.write != nullptr) {
        // Over what is there: a trail is written again and again.
        if (guide.write->size() <= steps) guide.write->resize(steps + 1);
        (*guide.write)[steps].logic = now.logic;
        (*guide.write)[steps].laws = laws.state();
        written = steps + 1;
      }
      logic.next(now, next, false);
      if (next == now.logic) return true;
      const auto end = seen.begin() + static_cast<std::ptrdiff_t>(steps);
      if (std::find(seen.begin(), end, next) != end) {
        now.trouble = "chatters: " + changes_between(loom, now.logic, next);
        return true;
      }
      if (steps == most_logic_steps) {
        now.trouble = "the switching did not come to rest";
        return true;
      }
      if (seen.size() == steps) seen.emplace_back();
      seen[steps++] = now.logic;
      std::swap(now.logic, next);
      laws.thaw();
      for (Active& a : actives) a.moved = is_switched(circuit.branches[a.branch], next, now.logic);
    }
  }

  void adopt(const BranchLaws::State& state) {
    for (Active& a : actives) a.moved |= laws.adopt(circuit.branches[a.branch], state);
  }

  // What the settling itself had no use for.
  void finish() {
    linear.solve_rest(now);
    for (std::size_t i : resistive_loads) {
      const Branch& b = circuit.branches[i];
      const bool path = now.piece[b.a] == now.piece[b.b];
      now.load_a[b.index] = path ? laws.conductance(b, now) * (now.node_v[b.a] - now.node_v[b.b]) : 0;
    }
    now.residual_a = linear.ground_current();
    if (!now.trouble.empty()) return;
    if (const auto dumping = dumping_load()) {
      const Load& load = loom.elements.loads[*dumping];
      now.trouble = fmt::format(
          "load dump: {}.{} gives back {:.3g} A and no battery takes it; nothing says how far its bus rises",
          loom.part(load.part).name, load.name, -now.load_a[*dumping]);
      return;
    }
    double largest = 1;
    for (double a : now.source_a) largest = std::max(largest, std::fabs(a));
    if (now.residual_a > 1e-6 * largest) now.trouble = where_it_does_not_add_up();
  }

  // A contact that opens by itself under the duty, in a motor's lead.
  std::string where_it_does_not_add_up() const {
    if (now.situation.duty) {
      for (const ChannelCurrent& c : loom.duty[now.situation.duty->value].currents) {
        if (const auto lead = c.amps.value != 0 ? parted_lead(circuit, now, c) : std::nullopt)
          return fmt::format("open phase: {} is driven, and then a contact parts it from its motor", loom.title(*lead));
      }
    }
    return "currents do not add up: a current is driven where no path takes it";
  }

  // Largest voltage between poles of batteries in a piece; sections of one stand in series.
  double battery_volts(int piece) const {
    double low = INFINITY;
    double high = -INFINITY;
    for (std::size_t i = 0; i < loom.elements.sources.size(); ++i) {
      const Source& s = loom.elements.sources[i];
      const int pos = circuit.node(s.pos);
      if (!s.sinks || now.logic.source_on[i] == 0 || now.piece[pos] != piece) continue;
      high = std::max(high, now.node_v[pos]);
      low = std::min(low, now.node_v[circuit.node(s.neg)]);
    }
    return std::max(0.0, high - low);
  }

  // A load whose current, given back, no battery takes: nothing here says where its bus stops rising.
  std::optional<std::size_t> dumping_load() const {
    if (!now.situation.duty) return std::nullopt;
    for (const Active& a : actives) {
      const Branch& b = circuit.branches[a.branch];
      if (b.type != BranchType::load || now.load_a[b.index] >= 0) continue;
      const double v = now.node_v[b.a] - now.node_v[b.b];
      if (v > battery_volts(now.piece[b.a]) * (1 + dump_share)) return b.index;
    }
    return std::nullopt;
  }

  void set_situation(const Situation& situation) {
    now.situation = situation;
    for (std::size_t i : dividers) linear.set_conductance(i, 1 / divider_ohm(circuit, circuit.branches[i], situation));
  }

  void start(const Situation& situation) {
    const Elements& all = loom.elements;
    set_situation(situation);
    now.situation.duty.reset();
    now.source_a.assign(all.sources.size(), 0);
    now.load_a.assign(all.loads.size(), 0);
    now.converter_in_a.assign(all.converters.size(), 0);
    now.converter_out_a.assign(all.converters.size(), 0);
    now.diode_a.assign(all.diodes.size(), 0);
    now.trouble.clear();
    laws.start();
    for (Active& a : actives) a.moved = true;
    base_is_kept = false;
    for (std::size_t p = 0; p < circuit.lead_pairs.size(); ++p) linear.set_pair(p, 0);
  }

  std::optional<OperatingPoint> settle_base(const Guide& guide) {
    const bool own_end = settle_logic(guide);
    if (guide.write != nullptr) guide.write->resize(written);
    if (!own_end) return std::nullopt;
    finish();
    return now;
  }

  // Whether the part can draw or give its duty current here: its load is live, and a motor controller gives torque and
  // is fed by more than what reaches it through a resistor.
  bool can_work(std::size_t i, bool drawing, const OperatingPoint& base) {
    const Load& load = loom.elements.loads[i];
    const auto v = voltage(circuit, base, load.pos, load.neg);
    if (!v || v->value < std::max(least_working_v, load.low_v ? *load.low_v * 0.5 : 0)) return false;
    if (!drawing) return true;
    for (std::size_t o = 0; o < loom.elements.outputs.size(); ++o) {
      const Output& output = loom.elements.outputs[o];
      if (output.part == load.part && output.name == "torque" && base.logic.output_on[o] == 0) return false;
    }
    return is_fed(conductors, circuit, base.logic, load.pos, load.neg);
  }

  bool is_possible(const DutyPoint& duty, const OperatingPoint& base) {
    for (const ChannelCurrent& c : duty.currents) {
      for (std::size_t i = 0; i < loom.elements.loads.size(); ++i) {
        const Load& load = loom.elements.loads[i];
        if (load.part != c.part || load.channel != c.channel) continue;
        if (!can_work(i, c.amps.value > 0, base)) return false;
      }
      if (c.amps.value != 0 && parted_lead(circuit, base, c)) return false;
    }
    return true;
  }

  void put_on(const DutyPoint& duty, const OperatingPoint& base) {
    for (const ChannelCurrent& c : duty.currents) {
      for (std::size_t i = 0; i < loom.elements.loads.size(); ++i) {
        const Load& load = loom.elements.loads[i];
        if (load.part == c.part && load.channel == c.channel) laws.set_duty(i, c.amps.value);
      }
      for (std::size_t p = 0; p < circuit.lead_pairs.size(); ++p) {
        const LeadPair& pair = circuit.lead_pairs[p];
        if (pair.part == c.part && loom.elements.leads[pair.lead].channel == c.channel &&
            takes_current(circuit, base, p))
          linear.set_pair(p, c.amps.value);
      }
    }
  }
};

Network::Network(const Circuit& circuit, bool opens_contacts)
    : inside_(std::make_unique<Inside>(circuit, opens_contacts)) {}
Network::~Network() = default;
Network::Network(Network&&) noexcept = default;
Network& Network::operator=(Network&&) noexcept = default;

OperatingPoint Network::settle(const Situation& situation) {
  OperatingPoint base = settle_base(situation, nullptr, nullptr);
  if (!situation.duty || !base.trouble.empty()) return base;
  if (auto loaded = add_duty(base, *situation.duty)) return std::move(*loaded);
  base.situation.duty = situation.duty;
  base.trouble = "duty not possible here";
  return base;
}

OperatingPoint Network::settle_base(const Situation& situation, const SettlingTrail* follow, SettlingTrail* write) {
  go_on();
  inside_->start(situation);
  inside_->logic.rest(inside_->now, inside_->now.logic);
  return std::move(*inside_->settle_base({write, follow, nullptr}));
}

std::optional<OperatingPoint> Network::settle_rest_after(const Situation& situation, const SettlingTrail& known,
                                                         const SettlingTrail* follow, SettlingTrail* write) {
  go_on();
  inside_->start(situation);
  inside_->logic.rest(inside_->now, inside_->now.logic);
  return inside_->settle_base({write, follow, &known});
}

OperatingPoint Network::settle_from(const OperatingPoint& before, const Situation& situation,
                                    const SettlingTrail* follow, SettlingTrail* write) {
  inside_->start_from(before, situation);
  return std::move(*inside_->settle_base({write, follow, nullptr}));
}

OperatingPoint Network::settle_with(const std::vector<std::uint8_t>& coil_on, const OperatingPoint& before,
                                    const Situation& situation) {
  inside_->see(before, situation);
  inside_->now.logic = before.logic;
  inside_->now.logic.coil_on = coil_on;
  inside_->logic.follow(inside_->seen_before, inside_->now.logic);
  return std::move(*inside_->settle_base({nullptr, nullptr, nullptr}));
}

std::optional<OperatingPoint> Network::settle_after(const OperatingPoint& before, const Situation& situation,
                                                    const SettlingTrail& known) {
  inside_->start_from(before, situation);
  if (!known.empty()) inside_->adopt(known.back().laws);
  return inside_->settle_base({nullptr, nullptr, known.empty() ? nullptr : &known});
}

std::optional<OperatingPoint> Network::add_duty(const OperatingPoint& base, DutyIndex duty) {
  Inside& in = *inside_;
  const DutyPoint& point = in.loom.duty[duty.value];
  if (!in.is_possible(point, base)) return std::nullopt;
  if (in.base_is_kept) {
    in.laws.set_state(in.base_laws);
  } else {
    in.base_laws = in.laws.state();
    in.base_is_kept = true;
  }
  in.laws.thaw();
  for (Inside::Active& a : in.actives) a.moved = true;
  in.now.logic = base.logic;
  in.now.source_a = base.source_a;
  in.now.load_a = base.load_a;
  in.now.converter_in_a = base.converter_in_a;
  in.now.converter_out_a = base.converter_out_a;
  in.now.diode_a = base.diode_a;
  in.now.trouble.clear();
  in.now.situation.duty = duty;
  for (std::size_t p = 0; p < in.circuit.lead_pairs.size(); ++p) in.linear.set_pair(p, 0);
  in.put_on(point, base);
  in.settle_logic({});
  in.finish();
  // A controller with a window of its own stops giving back at its end: no state that holds. What happens on the way
  // there is load-dump's.
  const auto dumping = in.dumping_load();
  if (dumping && in.loom.elements.loads[*dumping].high_v) return std::nullopt;
  return in.now;
}

std::vector<std::size_t> Network::undefined_inputs(const OperatingPoint& point) const {
  return inside_->logic.undefined_inputs(point);
}

void Network::alter(const CircuitChange& change) {
  inside_->alter(change);
}

bool takes_current(const Circuit& circuit, const OperatingPoint& point, std::size_t pair) {
  const std::vector<LeadPair>& pairs = circuit.lead_pairs;
  const auto joined = [&](const LeadPair& p) { return point.piece[p.from] == point.piece[p.to]; };
  if (!joined(pairs[pair])) return false;
  for (std::size_t p = pair; p > 0 && pairs[p - 1].lead == pairs[pair].lead; --p) {
    if (joined(pairs[p - 1])) return false;
  }
  return true;
}

std::optional<TerminalIndex> parted_lead(const Circuit& circuit, const OperatingPoint& point, const ChannelCurrent& c) {
  const std::vector<LeadPair>& pairs = circuit.lead_pairs;
  for (std::size_t p = 0; p < pairs.size();) {
    const Lead& lead = circuit.loom->elements.leads[pairs[p].lead];
    bool taken = false;
    for (const std::size_t of = pairs[p].lead; p < pairs.size() && pairs[p].lead == of; ++p)
      taken |= takes_current(circuit, point, p);
    if (!taken && lead.part == c.part && lead.channel == c.channel) return lead.terminal;
  }
  return std::nullopt;
}

std::optional<Volt> voltage(const Circuit& circuit, const OperatingPoint& point, TerminalIndex a, TerminalIndex b) {
  const int na = circuit.node(a);
  const int nb = circuit.node(b);
  if (point.piece[na] != point.piece[nb]) return std::nullopt;
  return Volt(point.node_v[na] - point.node_v[nb]);
}

double branch_current_a(const Circuit& circuit, const OperatingPoint& point, const Branch& b) {
  const double v = point.node_v[b.a] - point.node_v[b.b];
  if (b.type == BranchType::contact && point.logic.contact_closed[b.index] == 0) return 0;
  if (b.type == BranchType::divider_upper || b.type == BranchType::divider_lower)
    return v / divider_ohm(circuit, b, point.situation);
  return v / b.ohm;
}

Ampere wire_current(const Circuit& circuit, const OperatingPoint& point, WireIndex wire) {
  return Ampere(branch_current_a(circuit, point, circuit.branches[circuit.wire_branch[wire.value]]));
}

}  // namespace loomproof
