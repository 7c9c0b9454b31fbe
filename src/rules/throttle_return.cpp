// throttle-return: the throttle has its supply, its signal and its own return to the controller.
//
// Lost, the return lets the signal rise to the supply: it must not pass anything that opens, must not carry another's
// current, and the controller's window must tell the lost return from full throttle. docs/rules/throttle-return.md
#include <algorithm>
#include <cmath>

#include "rules/list.h"
#include "rules/subject.h"
#include "units/print.h"

namespace loomproof {
namespace {

// Share of the throttle's span by which its return may be shifted (common practice, no source).
constexpr double most_shift_share = 0.05;

struct Throttle {
  const Input& input;
  const Divider& sensor;
  std::size_t supply;  // the controller's source that feeds the sensor
};

// What the signal rises to when the return breaks: the controller's own pull-down is all that holds it.
double lost_return_v(const Loom& loom, const Throttle& t) {
  const Source& supply = loom.elements.sources[t.supply];
  const double full_v = supply.full_v ? *supply.full_v : 0;
  if (!t.input.pull_ohm || *t.input.pull_ohm <= 0) return full_v;
  return full_v * *t.input.pull_ohm / (*t.input.pull_ohm + *t.sensor.ohm * (1 - *t.sensor.share.front()));
}

bool judge_lost_return(const Loom& loom, const Throttle& t, Obligation& owed) {
  const double rise_v = lost_return_v(loom, t);
  const double valid_v = *t.input.valid_high_v;
  const Figure figure{show(Volt(valid_v)), show(Volt(rise_v)), used_of_ceiling(valid_v, rise_v)};
  if (valid_v < rise_v) {
    owed.holds(figure, "return broken");
    return true;
  }
  owed.broken(fmt::format("with its return broken the signal of '{}' rises to {}, which '{}' takes for full throttle",
                          loom.part(t.sensor.part).name, figure.limit, loom.part(t.input.part).name),
              Figure{figure.value, figure.limit, std::max(figure.used, 1 + 1e-6)}, "return broken")
      .see(place_of(loom, t.input, t.input.valid_high_v), "upper end of its window")
      .fix(fmt::format("an upper end of the window below {}, above the signal at full", figure.limit));
  return false;
}

// Where the throttle stands at rest and at full, and how far its return is shifted, in every settled situation.
void judge_signal(const Solved& solved, const Throttle& t, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const std::string& sensor = loom.part(t.sensor.part).name;
  const std::string& drive = loom.part(t.input.part).name;
  const std::size_t last = t.sensor.share.size() - 1;
  Extreme rest, rest_low, full, shift;
  for (std::size_t p = 0; p < solved.points.size(); ++p) {
    const OperatingPoint& point = solved.points[p];
    if (point.logic.source_on[t.supply] == 0) continue;
    const auto v = voltage(solved.circuit, point, t.input.terminal, t.input.reference);
    const auto off = voltage(solved.circuit, point, t.sensor.bottom, t.input.reference);
    if (!v || !off) continue;
    const auto position = static_cast<std::size_t>(point.situation.positions[t.sensor.part.value]);
    if (position == 0 && (!rest || v->value > rest.value)) rest = {v->value, p};
    if (position == 0 && (!rest_low || v->value < rest_low.value)) rest_low = {v->value, p};
    if (position == last && (!full || v->value > full.value)) full = {v->value, p};
    if (!shift || std::fabs(off->value) > shift.value) shift = {std::fabs(off->value), p};
  }
  if (!rest) {
    owed.undecided(fmt::format("'{}' is fed in no situation that was settled", sensor),
                   "see what keeps the controller from waking: key, contactor, bus voltage");
    return;
  }
  const double zero_v = *t.input.zero_v;
  const Figure at_rest{show(Volt(rest.value)), show(Volt(zero_v)), used_of_ceiling(rest.value, zero_v)};
  if (at_rest.used > 1) {
    owed.broken(
            fmt::format("'{}' gives {} at rest and '{}' pulls from {}", sensor, at_rest.value, drive, at_rest.limit),
            at_rest, solved.describe(rest))
        .note("the vehicle creeps or starts by itself")
        .see(place_of(loom, t.input, t.input.zero_v), "where the controller begins")
        .fix("set the controller's zero above what the throttle gives at rest");
    return;
  }
  const double most_v = most_shift_share * std::fabs(*t.input.full_v - zero_v);
  const Figure shifted{show(Volt(shift.value)), show(Volt(most_v)), used_of_ceiling(shift.value, most_v)};
  if (shifted.used > 1) {
    owed.broken(fmt::format("other currents in the return of '{}' shift its signal by {}", sensor, shifted.value),
                shifted, solved.describe(shift))
        .note(fmt::format("{:.0f} % of the throttle's span is {}", most_shift_share * 100, shifted.limit))
        .fix(fmt::format("a wire of its own from '{}' to '{}'", loom.title(t.sensor.bottom),
                         loom.title(t.input.reference)));
    return;
  }
  if (rest_low.value < *t.input.valid_low_v) {
    owed.broken(fmt::format("'{}' gives {} at rest and '{}' takes less than {} for a fault", sensor,
                            show(Volt(rest_low.value)), drive, show(Volt(*t.input.valid_low_v))),
                std::nullopt, solved.describe(rest_low))
        .fix("a lower end of the window below what the throttle gives at rest")
        .as(Severity::nuisance);
    return;
  }
  if (full && full.value > *t.input.valid_high_v) {
    owed.broken(fmt::format("'{}' gives {} at full and '{}' takes more than {} for a fault", sensor,
                            show(Volt(full.value)), drive, show(Volt(*t.input.valid_high_v))),
                std::nullopt, solved.describe(full))
        .fix("an upper end of the window above what the throttle gives at full")
        .as(Severity::nuisance);
    return;
  }
  owed.holds(at_rest, solved.describe(rest));
  owed.holds(shifted, solved.describe(shift));
}

// Its ground is the controller's; that this lies on the frame too is another matter.
bool returns_by_frame(const Solved& solved, const Input& input, const Divider& sensor) {
  std::vector<TerminalIndex> grounds{input.reference};
  for (const TerminalIndex t : solved.loom->part(input.part).terminals) {
    if (solved.loom->terminal(t).name == "io_neg") grounds.push_back(t);
  }
  return meets_frame(solved.graph, solved.circuit, sensor.bottom, grounds);
}

void judge_throttle(const Solved& solved, const Input& input, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const Circuit& circuit = solved.circuit;
  const BranchFilter conductor = [&](const Branch& b) { return is_conductor(circuit, b); };
  const std::vector<int> piece = components(solved.graph, circuit, conductor);
  const auto tied = [&](TerminalIndex a, TerminalIndex b) { return piece[circuit.node(a)] == piece[circuit.node(b)]; };
  if (!is_wired(loom, input.terminal)) {
    owed.broken(fmt::format("no throttle is wired to '{}'", loom.title(input.terminal)))
        .of_wiring()
        .fix("wire the throttle's signal to it")
        .as(Severity::nuisance);
    return;
  }
  const auto sensor = std::find_if(loom.elements.dividers.begin(), loom.elements.dividers.end(),
                                   [&](const Divider& d) { return tied(d.tap, input.terminal); });
  if (sensor == loom.elements.dividers.end()) {
    owed.broken(fmt::format("'{}' is wired, but to no throttle's signal", loom.title(input.terminal)))
        .of_wiring()
        .fix("wire the throttle's signal to it");
    return;
  }
  if (!tied(sensor->bottom, input.reference)) {
    owed.broken(fmt::format("'{}' has no return to '{}'", loom.title(sensor->bottom), loom.title(input.reference)))
        .of_wiring()
        .note("without its return the signal rises to the supply, which can read as full throttle")
        .fix(fmt::format("a wire of its own from '{}' to '{}'", loom.title(sensor->bottom),
                         loom.title(input.reference)));
    return;
  }
  // A return that a switch, a relay or a fuse opens is lost on purpose.
  const BranchFilter fixed = [&](const Branch& b) {
    if (b.type == BranchType::fuse || b.type == BranchType::diode) return false;
    if (b.type == BranchType::contact && loom.elements.contacts[b.index].operated) return false;
    return is_conductor(circuit, b);
  };
  const std::vector<int> lasting = components(solved.graph, circuit, fixed);
  if (lasting[circuit.node(sensor->bottom)] != lasting[circuit.node(input.reference)]) {
    owed.broken(fmt::format("the return of '{}' passes something that opens", loom.part(sensor->part).name))
        .of_wiring()
        .note("when it opens the signal rises to the supply, which can read as full throttle")
        .fix("take switch and fuse out of the return; let them open the permit, the key or the contactor's coil");
    return;
  }
  const auto fed = std::find_if(loom.elements.sources.begin(), loom.elements.sources.end(), [&](const Source& s) {
    return s.part == input.part && s.zone == Zone::signal && tied(sensor->top, s.pos);
  });
  if (fed == loom.elements.sources.end()) {
    owed.broken(fmt::format("'{}' is not fed from the sensor supply of '{}'", loom.title(sensor->top),
                            loom.part(input.part).name))
        .of_wiring()
        .fix("wire it to the controller's own throttle supply");
    return;
  }
  if (returns_by_frame(solved, input, *sensor)) {
    owed.broken(fmt::format("the return of '{}' lies on the frame", loom.part(sensor->part).name))
        .of_wiring()
        .note("what lamps and horn send through the frame lifts the signal, the more the more a joint rusts: it creeps")
        .fix(fmt::format("a wire of its own from '{}' to '{}', and no frame stud on it", loom.title(sensor->bottom),
                         loom.title(input.reference)));
    return;
  }
  const bool window = input.valid_low_v && input.valid_high_v && input.zero_v && input.full_v;
  const bool signal = !sensor->share.empty() && sensor->share.front() && sensor->ohm;
  if (!window) {
    owed.undecided(fmt::format("the throttle window of '{}' is not given", loom.part(input.part).name),
                   "write `throttle: {zero: 0.9 V, full: 4.1 V, valid: 0.6 V to 4.4 V}` in it");
  } else if (!signal) {
    owed.undecided(fmt::format("what '{}' gives is not known", loom.part(sensor->part).name),
                   fmt::format("write `gives: 0.8 V to 4.2 V` in part '{}'", loom.part(sensor->part).name));
  } else {
    const Throttle t{input, *sensor, static_cast<std::size_t>(fed - loom.elements.sources.begin())};
    if (judge_lost_return(loom, t, owed)) judge_signal(solved, t, owed);
  }
}

void judge_throttle_return(const Rule& rule, const Solved& solved, Ledger& ledger) {
  for (const Input& input : solved.loom->elements.inputs) {
    if (input.analogue) judge_throttle(solved, input, ledger.open(rule, subject_of(*solved.loom, input, true)));
  }
}

}  // namespace

const Rule throttle_return{
    .slug = "throttle-return",
    .group = Group::control,
    .severity = Severity::danger,
    .promise = "The throttle has its supply, its signal and its own return to the controller.",
    .judge = judge_throttle_return,
};

}  // namespace loomproof
