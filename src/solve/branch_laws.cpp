// The laws of the circuit's branches.
#include "solve/branch_laws.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "solve/settling_limits.h"

namespace loomproof {
namespace {

constexpr double most_slope = 0.5;         // beyond it the bus is near collapse, where only plain steps are safe
constexpr double settled_output_a = 1e-8;  // of a converter; above what rounding leaves

// One step towards the current that asks for itself. The way in which the last step changed what is asked for (a
// secant) says where the two meet; without it the steps shrink by the drop's share of the voltage only.
bool settle_current(double& amps, double wanted, BranchLaws::Try& last, double settled_share) {
  const double miss = wanted - amps;
  if (std::fabs(miss) <= settled_share * std::max(1e-3, std::fabs(wanted))) {
    amps = wanted;
    return false;
  }
  const double tried = amps;
  amps = wanted;
  if (last.made && tried != last.amps) {
    const double slope = (wanted - last.wanted) / (tried - last.amps);
    if (std::fabs(slope) < most_slope) amps = tried + miss / (1 - slope);
  }
  last = {tried, wanted, true};
  return true;
}

}  // namespace

double live_v(const Load& load) {
  if (!load.channel.empty()) return least_live_v;
  if (load.low_v) return *load.low_v;
  return load.rated_v ? 0.5 * *load.rated_v : least_live_v;
}

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

bool is_switched(const Branch& b, const LogicState& before, const LogicState& after) {
  switch (b.type) {
    case BranchType::source:
      return before.source_on[b.index] != after.source_on[b.index];
    case BranchType::diode:
      return false;
    case BranchType::load:
    case BranchType::converter_in:
      return true;
    default:
      return before.converter_on[b.index] != after.converter_on[b.index];
  }
}

BranchLaws::BranchLaws(const Circuit& circuit, double settled_share)
    : circuit_(circuit), all_(circuit.loom->elements), settled_share_(settled_share) {
  load_hinted_.assign(all_.loads.size(), 0);
  in_hinted_.assign(all_.converters.size(), 0);
  opened.assign(circuit.branches.size(), 0);
  start();
}

void BranchLaws::start() {
  state_.source_mode.assign(all_.sources.size(), Mode::off);
  state_.out_mode.assign(all_.converters.size(), Mode::off);
  state_.diode_on.assign(all_.diodes.size(), 0);
  state_.load_low.assign(all_.loads.size(), 1);
  state_.in_low.assign(all_.converters.size(), 1);
  state_.load_current.assign(all_.loads.size(), 0);
  state_.in_current.assign(all_.converters.size(), 0);
  load_try_.assign(all_.loads.size(), {});
  in_try_.assign(all_.converters.size(), {});
  load_flips_.assign(all_.loads.size(), 0);
  in_flips_.assign(all_.converters.size(), 0);
  clear_duty();
  hints_ = nullptr;
}

void BranchLaws::save(std::vector<std::uint8_t>& modes, std::vector<double>& amps) const {
  const auto add = [&](const auto& list) {
    for (const auto x : list) modes.push_back(static_cast<std::uint8_t>(x));
  };
  add(state_.source_mode);
  add(state_.out_mode);
  add(state_.diode_on);
  add(state_.load_low);
  add(state_.in_low);
  amps.insert(amps.end(), state_.load_current.begin(), state_.load_current.end());
  amps.insert(amps.end(), state_.in_current.begin(), state_.in_current.end());
}

void BranchLaws::resume(const std::uint8_t*& modes, const double*& amps) {
  const auto take = [](auto& list, const auto*& from) {
    using Item = typename std::decay_t<decltype(list)>::value_type;
    for (Item& x : list) x = static_cast<Item>(*from++);
  };
  take(state_.source_mode, modes);
  take(state_.out_mode, modes);
  take(state_.diode_on, modes);
  take(state_.load_low, modes);
  take(state_.in_low, modes);
  take(state_.load_current, amps);
  take(state_.in_current, amps);
}

void BranchLaws::set_hints(const State* hints) {
  hints_ = hints;
  std::fill(load_hinted_.begin(), load_hinted_.end(), std::uint8_t{0});
  std::fill(in_hinted_.begin(), in_hinted_.end(), std::uint8_t{0});
}

void BranchLaws::follow(const LogicState& before, const LogicState& now) {
  for (std::size_t i = 0; i < now.source_on.size(); ++i) {
    if (before.source_on[i] != now.source_on[i])
      state_.source_mode[i] = now.source_on[i] != 0 ? Mode::volts : Mode::off;
  }
  for (std::size_t i = 0; i < now.converter_on.size(); ++i) {
    if (before.converter_on[i] == now.converter_on[i]) continue;
    state_.out_mode[i] = now.converter_on[i] != 0 ? Mode::volts : Mode::off;
    if (now.converter_on[i] == 0 || hints_ == nullptr || in_hinted_[i] != 0 || hints_->in_low[i] != 0) continue;
    state_.in_low[i] = 0;
    state_.in_current[i] = hints_->in_current[i];
    in_try_[i] = {};
    in_hinted_[i] = 1;
  }
}

void BranchLaws::thaw() {
  std::fill(load_flips_.begin(), load_flips_.end(), 0);
  std::fill(in_flips_.begin(), in_flips_.end(), 0);
  std::fill(load_try_.begin(), load_try_.end(), Try{});
  std::fill(in_try_.begin(), in_try_.end(), Try{});
}

void BranchLaws::clear_duty() {
  duty_current_.assign(all_.loads.size(), 0);
}

void BranchLaws::set_duty(std::size_t load, double amps) {
  const Datum& own = all_.loads[load].amount;
  duty_current_[load] = amps - (own ? *own : 0);
}

double BranchLaws::source_emf(const Source& s, Charge charge) const {
  const Datum& volts = charge == Charge::full ? s.full_v : charge == Charge::nominal ? s.nominal_v : s.empty_v;
  return volts ? *volts * s.share : 0;
}

double BranchLaws::load_amps(std::size_t i, double v) const {
  const Load& load = all_.loads[i];
  const double amount = load.amount ? *load.amount : 0;
  if (load.form == Load::Form::power) return amount / std::max(v, live_v(load));
  return amount + duty_current_[i];
}

double BranchLaws::low_conductance(std::size_t i) const {
  const double from_v = live_v(all_.loads[i]);
  return std::max(load_amps(i, from_v), 0.0) / from_v;
}

double BranchLaws::out_watts(std::size_t i, const OperatingPoint& point) const {
  const Converter& c = all_.converters[i];
  const auto v = voltage(circuit_, point, c.out_pos, c.out_neg);
  const double efficiency = c.efficiency && *c.efficiency > 0 ? *c.efficiency : 1;
  const double idle = c.idle_w ? *c.idle_w : 0;
  return idle + std::max(0.0, (v ? v->value : 0) * point.converter_out_a[i]) / efficiency;
}

double BranchLaws::conductance(const Branch& b, const OperatingPoint& point) const {
  if (is_opened(b)) return 0;
  switch (b.type) {
    case BranchType::contact:
      return point.logic.contact_closed[b.index] != 0 ? 1 / b.ohm : 0;
    case BranchType::divider_upper:
    case BranchType::divider_lower: {
      const Divider& d = all_.dividers[b.index];
      const Datum& share = d.share[point.situation.positions[d.part.value]];
      const double s = std::clamp(share ? *share : 0.0, least_divider_share, 1 - least_divider_share);
      return 1 / (b.ohm * (b.type == BranchType::divider_upper ? 1 - s : s));
    }
    case BranchType::load:
      if (all_.loads[b.index].form == Load::Form::resistive) return all_.loads[b.index].amount ? 1 / b.ohm : 0;
      return state_.load_low[b.index] == starved ? low_conductance(b.index) : 0;
    case BranchType::source:
      return state_.source_mode[b.index] == Mode::volts ? 1 / b.ohm : 0;
    case BranchType::converter_out:
      return state_.out_mode[b.index] == Mode::volts ? 1 / b.ohm : 0;
    case BranchType::converter_in: {
      if (point.logic.converter_on[b.index] == 0 || state_.in_low[b.index] == 0) return 0;
      const double from_v = in_live_v(all_.converters[b.index]);
      return out_watts(b.index, point) / (from_v * from_v);
    }
    case BranchType::diode:
      return state_.diode_on[b.index] != 0 ? 1 / b.ohm : 0;
    default:
      return 1 / b.ohm;
  }
}

double BranchLaws::injection(const Branch& b, const OperatingPoint& point) const {
  if (is_opened(b)) return 0;
  switch (b.type) {
    case BranchType::source: {
      const Source& s = all_.sources[b.index];
      if (state_.source_mode[b.index] == Mode::limit) return *s.limit_a;
      return state_.source_mode[b.index] == Mode::volts ? source_emf(s, point.situation.charge) / b.ohm : 0;
    }
    case BranchType::converter_out: {
      const Converter& c = all_.converters[b.index];
      if (state_.out_mode[b.index] == Mode::limit) return *c.limit_a;
      return state_.out_mode[b.index] == Mode::volts && c.volts_v ? *c.volts_v / b.ohm : 0;
    }
    case BranchType::converter_in:
      return point.logic.converter_on[b.index] != 0 && state_.in_low[b.index] == 0 ? -state_.in_current[b.index] : 0;
    case BranchType::load:
      if (all_.loads[b.index].form == Load::Form::resistive || state_.load_low[b.index] == starved) return 0;
      return -state_.load_current[b.index];
    case BranchType::diode: {
      const Datum& forward = all_.diodes[b.index].forward_v;
      return state_.diode_on[b.index] != 0 ? (forward ? *forward : unknown_forward_v) / b.ohm : 0;
    }
    default:
      return 0;
  }
}

// A source or converter output picks its mode from the voltage that it sees; true when it changed. Without a path
// from pole to pole it sees none: it stands at its open voltage, whatever the two pieces' 0 V.
bool BranchLaws::pick_mode(Mode& mode, bool on, bool sinks, double emf_v, double ohm, std::optional<double> limit_a,
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

double BranchLaws::hint_a(const Branch& b) const {
  if (hints_ == nullptr) return 0;
  if (b.type == BranchType::load) return hints_->load_low[b.index] != 0 ? 0 : hints_->load_current[b.index];
  return hints_->in_low[b.index] != 0 ? 0 : hints_->in_current[b.index];
}

// Flips between working and starved; one that keeps flipping is starved for good: it hunts, and starved is what it is
// on average at the bus. Starved is where everything begins, and on a bus with any voltage it is left once at least:
// a constant power that the bus can well carry could else stay starved by its own starved current. It starts from no
// current, or a hint of it, since of the two voltages at which power balances the higher one is where it runs.
bool BranchLaws::pick_low(std::uint8_t& low, int& flips, double& amps, Try& last, std::uint8_t& hinted, double hint_a,
                          double v, double live, bool bistable) const {
  const bool is_low = v < live && !(bistable && low != 0 && flips == 0 && v > least_bus_v);
  if (is_low == (low != 0) || flips > most_flips) return false;
  low = is_low ? 1 : 0;
  if (++flips > most_flips) low = 1;
  amps = 0;
  last.made = false;
  if (low != 0 && hinted == 1) {
    flips = 0;
    hinted = 2;
  } else if (low == 0 && bistable && hinted == 0 && hint_a > 0) {
    amps = hint_a;
    hinted = 1;
  }
  return true;
}

bool BranchLaws::is_opened(const Branch& b) const {
  return opened[static_cast<std::size_t>(&b - circuit_.branches.data())] != 0;
}

// Whether its state moved; nothing where it is not fed backward and was not.
std::optional<bool> BranchLaws::turn_backward(std::size_t i, double v) {
  const double live = live_v(all_.loads[i]), most_a = std::max(load_amps(i, live), 0.0);
  const bool is = v < -live * (1 + 1e-9), was = state_.load_low[i] == backward;
  if (!is && !(was && v > -live * (1 - 1e-9))) return was ? std::optional(false) : std::nullopt;
  state_.load_low[i] = is ? backward : starved;
  const double before = std::exchange(state_.load_current[i], is ? -most_a : 0);
  return is != was || before != state_.load_current[i];
}

bool BranchLaws::update(const Branch& b, OperatingPoint& point) {
  // Between pieces that no conductor joins there is no voltage; a diode looks whether it would join them.
  const bool path = point.piece[b.a] == point.piece[b.b];
  const double v = path || b.type == BranchType::diode ? point.node_v[b.a] - point.node_v[b.b] : 0;
  switch (b.type) {
    case BranchType::source: {
      const Source& s = all_.sources[b.index];
      const double emf = source_emf(s, point.situation.charge);
      const bool moved = pick_mode(state_.source_mode[b.index], point.logic.source_on[b.index] != 0, s.sinks, emf,
                                   b.ohm, s.limit_a.value, v, path);
      const Mode mode = state_.source_mode[b.index];
      point.source_a[b.index] = mode == Mode::volts ? (emf - v) / b.ohm : mode == Mode::limit ? *s.limit_a : 0;
      return moved;
    }
    case BranchType::converter_out: {
      const Converter& c = all_.converters[b.index];
      const double emf = c.volts_v ? *c.volts_v : 0;
      const bool moved = pick_mode(state_.out_mode[b.index], point.logic.converter_on[b.index] != 0, false, emf, b.ohm,
                                   c.limit_a.value, v, path);
      const Mode mode = state_.out_mode[b.index];
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
      if (!path && state_.in_low[b.index] == 0 && state_.in_current[b.index] == 0) return false;  // see starve_cut_off
      const double live = in_live_v(all_.converters[b.index]);
      bool moved = pick_low(state_.in_low[b.index], in_flips_[b.index], state_.in_current[b.index], in_try_[b.index],
                            in_hinted_[b.index], hint_a(b), v, live, true);
      if (state_.in_low[b.index] == 0 && !moved)
        moved |= settle_current(state_.in_current[b.index], out_watts(b.index, point) / std::max(v, live),
                                in_try_[b.index], settled_share_);
      point.converter_in_a[b.index] =
          state_.in_low[b.index] != 0 ? conductance(b, point) * v : state_.in_current[b.index];
      return moved;
    }
    case BranchType::load: {
      const Load& load = all_.loads[b.index];
      if (is_opened(b)) return false;
      if (!path && state_.load_low[b.index] == 0 && state_.load_current[b.index] == 0) return false;
      if (const auto moved = turn_backward(b.index, v)) {
        point.load_a[b.index] =
            state_.load_low[b.index] == backward ? state_.load_current[b.index] : low_conductance(b.index) * v;
        return *moved;
      }
      const bool bistable = load.form == Load::Form::power;
      bool moved = pick_low(state_.load_low[b.index], load_flips_[b.index], state_.load_current[b.index],
                            load_try_[b.index], load_hinted_[b.index], hint_a(b), v, live_v(load), bistable);
      if (state_.load_low[b.index] == 0 && !moved)
        moved |=
            settle_current(state_.load_current[b.index], load_amps(b.index, v), load_try_[b.index], settled_share_);
      point.load_a[b.index] =
          state_.load_low[b.index] != 0 ? low_conductance(b.index) * v : state_.load_current[b.index];
      return moved;
    }
    case BranchType::diode: {
      const Datum& forward = all_.diodes[b.index].forward_v;
      const double vf = forward ? *forward : unknown_forward_v;
      // A conducting diode that leads nowhere stands at just its forward voltage: rounding must not open it again.
      const double slack = 1e-9 * (std::fabs(v) + 1);
      const bool on = v > (state_.diode_on[b.index] != 0 ? vf - slack : vf + slack);
      const bool moved = on != (state_.diode_on[b.index] != 0);
      if (moved) state_.diode_on[b.index] = on;
      point.diode_a[b.index] = on ? (v - vf) / b.ohm : 0;
      return moved;
    }
    default:
      return false;
  }
}

bool BranchLaws::adopt(const Branch& b, const State& from) {
  const auto take = [i = b.index](auto& own, const auto& other) { return std::exchange(own[i], other[i]) != other[i]; };
  bool changed = false;
  switch (b.type) {
    case BranchType::source:
      return take(state_.source_mode, from.source_mode);
    case BranchType::converter_out:
      return take(state_.out_mode, from.out_mode);
    case BranchType::diode:
      return take(state_.diode_on, from.diode_on);
    case BranchType::converter_in:
      changed = in_flips_[b.index] != 0;
      in_flips_[b.index] = 0;
      changed |= take(state_.in_low, from.in_low);
      changed |= take(state_.in_current, from.in_current);
      in_try_[b.index] = {};
      return changed;
    case BranchType::load:
      changed = load_flips_[b.index] != 0;
      load_flips_[b.index] = 0;
      changed |= take(state_.load_low, from.load_low);
      changed |= take(state_.load_current, from.load_current);
      load_try_[b.index] = {};
      return changed;
    default:
      return false;
  }
}

bool BranchLaws::starve_cut_off(const Branch& b, const OperatingPoint& point) {
  if (point.piece[b.a] == point.piece[b.b]) return false;
  std::uint8_t* low = nullptr;
  if (b.type == BranchType::load) low = &state_.load_low[b.index];
  if (b.type == BranchType::converter_in && point.logic.converter_on[b.index] != 0) low = &state_.in_low[b.index];
  if (low == nullptr || *low == starved) return false;
  *low = starved;
  return true;
}

}  // namespace loomproof
