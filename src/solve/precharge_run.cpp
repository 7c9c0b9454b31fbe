// Charges a bus through the whole network, one bus voltage after the other.
#include "solve/precharge_run.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

#include "solve/held_bus.h"
#include "solve/infinite.h"

namespace loomproof {
namespace {

constexpr int cells = 32;  // of the source's voltage
constexpr double no_current_a = 1e-6;

// Elements whose two ends are the ends of a capacitance, as far as conductors go that nothing opens.
std::vector<int> fixed_pieces(const Circuit& circuit, const CircuitGraph& graph) {
  return components(graph, circuit, [&](const Branch& b) {
    if (b.type == BranchType::contact && circuit.loom->elements.contacts[b.index].operated) return false;
    return is_conductor(circuit, b);
  });
}

bool lacks_threshold(const Condition& c) {
  if (c.op == Condition::Op::powered) return !c.above_v && !c.above_v.attribute.empty();
  return std::any_of(c.of.begin(), c.of.end(), lacks_threshold);
}

// What runs between two switchings: x(t) = a + b exp(-t/tau) for everything that is even in the bus voltage.
struct Course {
  double tau_s;   // infinite: straight in time
  double gone_s;  // 1 - exp(-lasts/tau)
};

Course course_of(const ChargingStretch& s, double farad) {
  const double fall_a = s.from_a - s.to_a;
  const bool even = s.to_v == s.from_v || std::fabs(fall_a) <= 1e-9 * std::fabs(s.from_a);
  const double tau_s = even ? infinite : farad * (s.to_v - s.from_v) / fall_a;
  return {tau_s, std::isinf(s.lasts_s) ? 1 : -std::expm1(-s.lasts_s / tau_s)};
}

double lasts_s(double farad, double from_v, double to_v, double from_a, double to_a) {
  if (to_a <= 0) return infinite;
  const double even = std::fabs(from_a - to_a);
  if (even < 1e-9 * from_a) return farad * (to_v - from_v) / from_a;
  return farad * (to_v - from_v) * std::log(from_a / to_a) / (from_a - to_a);
}

double part_way(const ChargingStretch& s, double farad, double after_s) {
  if (after_s >= s.lasts_s) return 1;
  const Course course = course_of(s, farad);
  if (std::isinf(course.tau_s)) return after_s / s.lasts_s;
  return -std::expm1(-after_s / course.tau_s) / course.gone_s;
}

double time_to(const ChargingStretch& s, double farad, double v) {
  if (v <= s.from_v) return s.from_s;
  if (v >= s.to_v) return s.from_s + s.lasts_s;
  const double share = (v - s.from_v) / (s.to_v - s.from_v);
  const double at_a = s.from_a + share * (s.to_a - s.from_a);
  return s.from_s + lasts_s(farad, s.from_v, v, s.from_a, at_a);
}

class Run {
 public:
  Run(const Circuit& circuit, const CircuitGraph& graph, const Closing& closing, const Situation& situation)
      : held_(circuit, closing, situation), contact_(closing.contact) {
    const Elements& all = circuit.loom->elements;
    out_.source_v = closing.source_v;
    if (situation.charge == Charge::empty) {
      double empty_v = 0;
      for (const Source& s : all.sources) {
        const bool its = std::find(closing.supplies.begin(), closing.supplies.end(), s.part) != closing.supplies.end();
        if (its && s.empty_v) empty_v += *s.empty_v * s.share;
      }
      if (empty_v > 0) out_.source_v = std::min(out_.source_v, empty_v);
    }
    for (std::size_t b : closing.around) {
      if (circuit.branches[b].type == BranchType::resistance) out_.resistors.push_back(circuit.branches[b].index);
    }
    const std::vector<int> piece = fixed_pieces(circuit, graph);
    const Capacitance& bank = all.capacitances[closing.capacitance];
    for (const Capacitance& c : all.capacitances) {
      if (piece[circuit.node(c.a)] != piece[circuit.node(bank.a)] ||
          piece[circuit.node(c.b)] != piece[circuit.node(bank.b)]) {
        continue;
      }
      if (c.farad)
        out_.farad += *c.farad;
      else
        out_.farad_known = false;
    }
    for (std::size_t i = 0; i < all.contacts.size(); ++i) {
      if (all.contacts[i].after_s || all.contacts[i].within_v) waiting_.push_back({i, std::nullopt});
    }
  }

  PrechargeRun run() {
    if (!(out_.farad > 0)) return out_;
    hold_waiting();
    point_ = held_.at(0, nullptr);
    look_at_waiting();
    const double cell_v = out_.source_v / cells;
    while (!done_) {
      const double next_v = std::min(out_.source_v, cell_v * (std::floor(v_ / cell_v + 1e-9) + 1));
      step(next_v);
    }
    finish();
    return out_;
  }

 private:
  struct Waiting {
    std::size_t contact;
    std::optional<double> since_s;  // its condition has been true
  };

  void hold_waiting() {
    std::vector<std::size_t> open;
    for (const Waiting& w : waiting_) open.push_back(w.contact);
    held_.set_waiting(open);
  }

  std::vector<double> resistor_amps(const OperatingPoint& point) const {
    std::vector<double> out;
    for (std::size_t r : out_.resistors) {
      for (const Branch& b : held_.circuit().branches) {
        if (b.type == BranchType::resistance && b.index == r)
          out.push_back(branch_current_a(held_.circuit(), point, b));
      }
    }
    return out;
  }

  void look_at_waiting() {
    for (Waiting& w : waiting_) {
      if (!held_.closed(point_, w.contact)) {
        w.since_s.reset();
      } else if (!w.since_s) {
        w.since_s = time_s_;
      }
    }
    const bool self_waits =
        std::any_of(waiting_.begin(), waiting_.end(), [&](const Waiting& w) { return w.contact == contact_; });
    if (!out_.closes_s && !self_waits && held_.closed(point_, contact_)) close();
  }

  void close() {
    out_.closes_s = time_s_;
    out_.closes_v = v_;
  }

  // When a contact that waits becomes free, at the earliest, if the bus then goes on as in `s`.
  double free_at(const Waiting& w, const ChargingStretch& s) const {
    if (!w.since_s) return infinite;
    const Contact& c = held_.loom().elements.contacts[w.contact];
    double when_s = std::max(time_s_, *w.since_s + (c.after_s ? *c.after_s : 0));
    if (c.within_v) {
      const double near_v = out_.source_v - *c.within_v;
      if (near_v > std::max(s.to_v, v_) * (1 + 1e-12)) return infinite;
      when_s = std::max(when_s, time_to(s, out_.farad, near_v));
    }
    return when_s;
  }

  ChargingStretch stretch_to(double to_v, const OperatingPoint& to) const {
    ChargingStretch s;
    s.from_s = time_s_;
    s.from_v = v_;
    s.to_v = to_v;
    s.from_a = held_.charging_a(point_);
    s.to_a = held_.charging_a(to);
    s.from_resistor_a = resistor_amps(point_);
    s.to_resistor_a = resistor_amps(to);
    if (s.from_a <= no_current_a || s.to_a <= no_current_a) {  // comes to rest on the way
      const double share = s.from_a <= no_current_a ? 0 : s.from_a / (s.from_a - s.to_a);
      s.to_v = s.from_v + share * (s.to_v - s.from_v);
      for (std::size_t i = 0; i < s.to_resistor_a.size(); ++i)
        s.to_resistor_a[i] = s.from_resistor_a[i] + share * (s.to_resistor_a[i] - s.from_resistor_a[i]);
      s.to_a = 0;
    }
    s.lasts_s = lasts_s(out_.farad, s.from_v, s.to_v, s.from_a, s.to_a);
    return s;
  }

  // Right at the threshold of a load whose own current pulls it back below the network finds no rest: a little above.
  OperatingPoint settled_near(double v) {
    OperatingPoint found = held_.at(v, &point_);
    for (int i = 1; i <= 5 && !found.trouble.empty(); ++i) found = held_.at(v + 0.002 * i * out_.source_v, &point_);
    return found;
  }

  void step(double next_v) {
    OperatingPoint next = settled_near(next_v);
    if (!point_.trouble.empty() || !next.trouble.empty()) {
      out_.trouble = point_.trouble.empty() ? next.trouble : point_.trouble;
      done_ = true;
      return;
    }
    double switched_v = next_v;
    std::optional<OperatingPoint> beyond;
    if (next.logic != point_.logic) {
      double low_v = v_, high_v = next_v;
      OperatingPoint low = point_;
      while (high_v - low_v > 1e-5 * out_.source_v) {
        const double middle_v = (low_v + high_v) / 2;
        OperatingPoint middle = held_.at(middle_v, &point_);
        if (!middle.trouble.empty() || middle.logic != point_.logic) {
          high_v = middle_v;
        } else {
          low_v = middle_v;
          low = std::move(middle);
        }
      }
      switched_v = high_v;
      beyond = settled_near(high_v);
      next = std::move(low);
    }
    ChargingStretch s = stretch_to(switched_v, next);
    double soonest_s = infinite;
    std::size_t freed = 0;
    for (std::size_t i = 0; i < waiting_.size(); ++i) {
      const double when_s = free_at(waiting_[i], s);
      if (when_s < soonest_s) {
        soonest_s = when_s;
        freed = i;
      }
    }
    if (soonest_s < s.from_s + s.lasts_s || (soonest_s < infinite && std::isinf(s.lasts_s))) {
      cut(s, soonest_s);
      set_free(freed);
      return;
    }
    push(s);
    if (std::isinf(s.lasts_s)) {
      done_ = true;
      return;
    }
    time_s_ += s.lasts_s;
    v_ = s.to_v;
    point_ = beyond ? std::move(*beyond) : std::move(next);
    if (beyond && held_.charging_a(point_) <= no_current_a) {
      hunts_at_ = v_;
    }
    look_at_waiting();
    // Nothing may be left above the source.
    if (v_ >= out_.source_v * (1 - 1e-9)) done_ = true;
  }

  void push(const ChargingStretch& s) {
    if (s.lasts_s > 0) out_.stretches.push_back(s);
  }

  void cut(ChargingStretch s, double until_s) {
    const double after_s = until_s - s.from_s;
    const double share = part_way(s, out_.farad, after_s);
    s.to_v = s.from_v + share * (s.to_v - s.from_v);
    s.to_a = s.from_a + share * (s.to_a - s.from_a);
    for (std::size_t i = 0; i < s.to_resistor_a.size(); ++i)
      s.to_resistor_a[i] = s.from_resistor_a[i] + share * (s.to_resistor_a[i] - s.from_resistor_a[i]);
    s.lasts_s = after_s;
    push(s);
    time_s_ = until_s;
    v_ = s.to_v;
  }

  // The contact conducts from now on. Where that closes the one in question, it goes on as if it had not.
  void set_free(std::size_t which) {
    const Waiting w = waiting_[which];
    if (w.contact == contact_) {
      if (!out_.closes_s) close();
      out_.gates.push_back(w.contact);
      waiting_.erase(waiting_.begin() + static_cast<std::ptrdiff_t>(which));
      return;
    }
    const OperatingPoint before = point_;
    const std::vector<Waiting> all = waiting_;
    waiting_.erase(waiting_.begin() + static_cast<std::ptrdiff_t>(which));
    hold_waiting();
    point_ = held_.at(v_, &before);
    const bool closed_before = out_.closes_s.has_value();
    look_at_waiting();
    if (!closed_before && out_.closes_s) {
      out_.gates.push_back(w.contact);
      waiting_ = all;
      waiting_.erase(waiting_.begin() + static_cast<std::ptrdiff_t>(which));
      std::vector<std::size_t> open{w.contact};
      for (const Waiting& x : waiting_) open.push_back(x.contact);
      held_.set_waiting(open);
      point_ = held_.at(v_, &before);
    }
  }

  void note_load() {
    const OperatingPoint full = held_.at(out_.source_v, &point_);
    out_.load_a = std::max(0.0, -held_.charging_a(full));
    const Loom& loom = held_.loom();
    const Circuit& circuit = held_.circuit();
    double most_a = no_current_a;
    const auto take = [&](PartIndex part, double amps) {
      if (amps <= most_a) return;
      most_a = amps;
      out_.drawn_by = part.value;
    };
    const Source& bus = loom.elements.sources.back();
    const auto on_bus = [&](TerminalIndex t) {
      const auto v = voltage(circuit, full, t, bus.neg);
      return v && std::fabs(v->value - out_.source_v) < 0.05 * out_.source_v;
    };
    for (std::size_t i = 0; i < loom.elements.loads.size(); ++i) {
      if (on_bus(loom.elements.loads[i].pos)) take(loom.elements.loads[i].part, full.load_a[i]);
    }
    for (std::size_t i = 0; i < loom.elements.converters.size(); ++i) {
      if (on_bus(loom.elements.converters[i].in_pos)) take(loom.elements.converters[i].part, full.converter_in_a[i]);
    }
    for (const Branch& b : circuit.branches) {
      if (b.type != BranchType::resistance) continue;
      const Resistance& r = loom.elements.resistances[b.index];
      if (std::find(out_.resistors.begin(), out_.resistors.end(), b.index) != out_.resistors.end()) continue;
      if (on_bus(r.a) || on_bus(r.b)) take(r.part, std::fabs(branch_current_a(circuit, full, b)));
    }
  }

  // A contact without whose conducting the one in question would not have closed, and whose threshold is not given.
  void look_for_unknown() {
    const Elements& all = held_.loom().elements;
    const OperatingPoint closed = held_.at(out_.closes_v, &point_);
    for (std::size_t i = 0; i < all.contacts.size(); ++i) {
      if (i == contact_ || !lacks_threshold(all.contacts[i].closed_when)) continue;
      if (all.contacts[i].after_s || all.contacts[i].within_v) continue;
      held_.set_waiting({i});
      const OperatingPoint without = held_.at(out_.closes_v, nullptr);
      if (!held_.closed(without, contact_) && held_.closed(closed, contact_)) out_.unknown_gate = i;
    }
    hold_waiting();
  }

  void finish() {
    out_.settles_v = v_;
    if (!out_.stretches.empty() && std::isinf(out_.stretches.back().lasts_s))
      out_.settles_v = out_.stretches.back().to_v;
    out_.hunts = hunts_at_.has_value() && out_.settles_v <= *hunts_at_ * (1 + 1e-9);
    out_.stalls = out_.settles_v < 0.95 * out_.source_v;
    for (const ChargingStretch& s : out_.stretches) {
      if (0.95 * out_.source_v <= s.to_v) {
        out_.to_fraction_s = time_to(s, out_.farad, 0.95 * out_.source_v);
        if (std::isinf(*out_.to_fraction_s)) out_.to_fraction_s.reset();
        break;
      }
    }
    if (!out_.trouble.empty()) return;
    note_load();
    if (out_.closes_s) look_for_unknown();
  }

  HeldBus held_;
  std::size_t contact_;
  PrechargeRun out_;
  std::vector<Waiting> waiting_;
  OperatingPoint point_;
  double time_s_ = 0;
  double v_ = 0;
  std::optional<double> hunts_at_;
  bool done_ = false;
};

}  // namespace

PrechargeRun run_precharge(const Circuit& circuit, const CircuitGraph& graph, const Closing& closing,
                           const Situation& situation) {
  return Run(circuit, graph, closing, situation).run();
}

double bus_voltage(const PrechargeRun& run, double time_s) {
  for (const ChargingStretch& s : run.stretches) {
    if (time_s > s.from_s + s.lasts_s) continue;
    return s.from_v + part_way(s, run.farad, time_s - s.from_s) * (s.to_v - s.from_v);
  }
  return run.settles_v;
}

double resistor_heat_j(const PrechargeRun& run, const Loom& loom, std::size_t resistor, double time_s) {
  const Datum& ohm = loom.elements.resistances[run.resistors[resistor]].ohm;
  if (!ohm) return 0;
  double heat_j = 0;
  for (const ChargingStretch& s : run.stretches) {
    const double lasts = std::min(s.lasts_s, time_s - s.from_s);
    if (lasts <= 0) break;
    const Course course = course_of(s, run.farad);
    const double from_a = s.from_resistor_a[resistor], to_a = s.to_resistor_a[resistor];
    if (std::isinf(course.tau_s)) {
      heat_j += *ohm * lasts * (from_a * from_a + from_a * to_a + to_a * to_a) / 3;
      continue;
    }
    // i(t) = rest + fall exp(-t/tau)
    const double fall_a = (from_a - to_a) / course.gone_s, rest_a = from_a - fall_a;
    heat_j +=
        *ohm * (rest_a * rest_a * lasts + 2 * rest_a * fall_a * course.tau_s * -std::expm1(-lasts / course.tau_s) +
                fall_a * fall_a * course.tau_s / 2 * -std::expm1(-2 * lasts / course.tau_s));
  }
  return heat_j;
}

}  // namespace loomproof
