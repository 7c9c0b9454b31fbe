// supply-voltage: every part is fed within the voltage that it is made for, at full and at empty pack.
//
// docs/rules/supply-voltage.md
#include <algorithm>
#include <cmath>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/coil_heat.h"
#include "solve/pole_map.h"
#include "units/print.h"

namespace loomproof {
namespace {

// A coil bears 1.3 times its rated voltage for long (common practice, no source).
constexpr double coil_share = 1.3;
// Copper's resistance per kelvin: a warm coil of the same voltage pulls less.
// A coil below this share of its rated voltage is switched off, above it is meant to pull.
constexpr double meant_share = 0.5;

bool many_of(const Loom& loom, const Element& e) {
  return loom.kind_of(loom.part(e.part)).inside.size() > 2;
}

// Less than that is no supply, in either direction.
constexpr double no_voltage_v = 0.5;

// Lowest voltage over all situations: below zero where the poles are swapped.
Extreme lowest_of(const Solved& solved, TerminalIndex pos, TerminalIndex neg) {
  Extreme least;
  for (std::size_t p = 0; p < solved.points.size(); ++p) {
    const auto v = voltage(solved.circuit, solved.points[p], pos, neg);
    if (v && (!least || v->value < least.value)) least = {v->value, p};
  }
  return least;
}

// Where not the part is turned but its supply, that is what is to be mended.
std::string exchange(const Loom& loom, const PolePair& supply) {
  return fmt::format("exchange the wires at '{}' and '{}': '{}' is what is turned", loom.title(supply.pos),
                     loom.title(supply.neg), loom.part(supply.part).name);
}

// True when it stands the wrong way round; said then.
bool tell_backward(const Solved& solved, const PoleMap& poles, TerminalIndex pos, TerminalIndex neg, Obligation& owed) {
  const Extreme backward = lowest_of(solved, pos, neg);
  if (!backward || backward.value >= -no_voltage_v) return false;
  owed.broken(fmt::format("'{}' is fed {} the wrong way round", owed.subject.name, show(Volt(-backward.value))),
              std::nullopt, solved.describe(backward))
      .note("what holds semiconductors does not survive that");
  if (const PolePair* supply = poles.turned_behind(pos, neg)) {
    owed.fix(exchange(*solved.loom, *supply));
  } else {
    owed.fix(fmt::format("swap '{}' and '{}'", solved.loom->title(pos), solved.loom->title(neg))).of_wiring();
  }
  return true;
}

void too_high(const Solved& solved, const Extreme& highest, double limit_v, Place limit_at, Obligation& owed) {
  const Figure figure{show(Volt(highest.value)), show(Volt(limit_v)), used_of_ceiling(highest.value, limit_v)};
  if (figure.used <= 1) {
    owed.holds(figure, solved.describe(highest));
    return;
  }
  owed.broken(fmt::format("'{}' is fed {} and stands {}", owed.subject.name, figure.value, figure.limit), figure,
              solved.describe(highest))
      .see(limit_at, "what it is made for")
      .fix("feed it from the supply that it is made for");
}

// Not a supply that is set too high, but another one: whatever its charge, it gives more than the part stands.
void tell_wrong_supply(const Solved& solved, const PoleMap& poles, TerminalIndex a, TerminalIndex b, double limit_v,
                       Obligation& owed) {
  if (owed.verdict != Verdict::broken) return;
  const PolePair* supply = poles.always_above(a, b, limit_v);
  if (supply == nullptr) return;
  owed.note(fmt::format("it lies on '{}', which gives {} at least", solved.loom->part(supply->part).name,
                        show(Volt(*supply->least_v))))
      .of_wiring();
}

void judge_load(const Rule& rule, const Solved& solved, const PoleMap& poles, std::size_t i, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Load& load = loom.elements.loads[i];
  Extreme highest = solved.extremes.load_high_v[i];
  if (!is_wired(loom, load.pos) || !is_wired(loom, load.neg)) return;
  Obligation& owed = ledger.open(rule, subject_of(loom, load, many_of(loom, load)));
  if (load.form != Load::Form::resistive && tell_backward(solved, poles, load.pos, load.neg, owed)) return;
  // A filament or a heater does not mind its poles.
  if (load.form == Load::Form::resistive) {
    const Extreme backward = lowest_of(solved, load.pos, load.neg);
    if (backward && -backward.value > highest.value) highest = {-backward.value, backward.point};
  }
  if (!highest || highest.value < no_voltage_v) {
    owed.holds("fed in no situation");
    return;
  }
  if (!load.high_v) {
    // Sensors and watch circuits of another part are that part's own business.
    if (load.high_v.attribute.empty()) {
      owed.holds("fed as its own part feeds it");
      return;
    }
    owed.undecided(
        fmt::format("'{}' is fed {} and what it stands is not given", owed.subject.name, show(Volt(highest.value))),
        ask_for(loom, load, load.high_v, load.high_v.attribute == "volts" ? "12 V" : "36 V to 75 V"));
    return;
  }
  too_high(solved, highest, *load.high_v, place_of(loom, load, load.high_v), owed);
  tell_wrong_supply(solved, poles, load.pos, load.neg, *load.high_v, owed);
  const Extreme& lowest = solved.extremes.load_low_v[i];
  if (owed.verdict != Verdict::holds || !load.low_v || !lowest) return;
  const Figure floor{show(Volt(lowest.value)), show(Volt(*load.low_v)), used_of_floor(lowest.value, *load.low_v)};
  if (floor.used <= 1) {
    owed.holds(floor, solved.describe(lowest));
    return;
  }
  owed.broken(fmt::format("'{}' gets {} and works from {}", owed.subject.name, floor.value, floor.limit), floor,
              solved.describe(lowest))
      .see(place_of(loom, load, load.low_v), "what it is made for")
      .fix("a part made for this supply, or a larger wire if the way there loses it");
}

std::optional<Celsius> coil_hot_of(const Loom& loom, const Coil& coil) {
  const auto hot = loom.part(coil.part).number("coil_hot");
  return hot ? std::optional(Celsius(*hot)) : std::nullopt;
}

// After hours at the largest voltage that it gets without duty; of a coil that does not tell how hot it gets, the
// air's.
Celsius warmest_coil(const Solved& solved, std::size_t i) {
  const Coil& coil = solved.loom->elements.coils[i];
  const Celsius ambient = ambient_of(*solved.loom);
  const auto hot = coil_hot_of(*solved.loom, coil);
  const Extreme& highest = solved.extremes.coil_high_v[i];
  if (!hot || !highest) return ambient;
  return coil_temperature(*hot, Volt(*coil.volts_v), Volt(highest.value), ambient);
}

void judge_winding(const Solved& solved, std::size_t i, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const Coil& coil = loom.elements.coils[i];
  const auto limit = loom.part(coil.part).number("coil_limit");
  if (!limit || owed.verdict != Verdict::holds) return;
  if (!coil_hot_of(loom, coil)) {
    owed.undecided(fmt::format("how hot the coil of '{}' gets is not given", loom.part(coil.part).name),
                   fmt::format("write `coil_hot: 70 degC`, after hours at its rated voltage in air of 20 degC, in '{}'",
                               loom.part(coil.part).name));
    return;
  }
  const Celsius warm = warmest_coil(solved, i);
  if (warm.value <= *limit) return;
  owed.broken(fmt::format("'{}' heats itself to {} and its winding stands {}", owed.subject.name, show(warm),
                          show(Celsius(*limit))),
              Figure{show(warm), show(Celsius(*limit)), warm.value / *limit},
              solved.describe(solved.extremes.coil_high_v[i]))
      .see(place_of(loom, coil, coil.volts_v), "rated voltage")
      .fix("a coil for this voltage, one with an economiser, or a cooler place");
}

// A coil that is meant to pull must get its pull-in voltage, warm, in every state in which it is switched on. Duty
// points are left out: a contact that has closed holds down to its drop-out.
void judge_pull_in(const Solved& solved, std::size_t i, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const Coil& coil = loom.elements.coils[i];
  const Celsius warm = warmest_coil(solved, i);
  const double hot_v = pull_in_at(Volt(*coil.pull_in_v), Celsius(std::max(20.0, warm.value))).value;
  Extreme lowest;
  bool ever_on = false;
  for (std::size_t p = 0; p < solved.points.size(); ++p) {
    const OperatingPoint& point = solved.points[p];
    const bool on = point.logic.coil_on[i] != 0;
    ever_on |= on;
    const auto v = voltage(solved.circuit, point, coil.a, coil.b);
    if (!v || point.situation.duty) continue;
    const double v_abs = std::fabs(v->value);
    if (!on && v_abs < meant_share * *coil.volts_v) continue;
    if (!lowest || v_abs < lowest.value) lowest = {v_abs, p};
  }
  if (!ever_on && !lowest) lowest = solved.extremes.coil_high_v[i];
  if (!lowest) return;
  const Figure floor{show(Volt(lowest.value)), show(Volt(hot_v)), used_of_floor(lowest.value, hot_v)};
  if (floor.used <= 1) {
    owed.holds(floor, solved.describe(lowest));
    return;
  }
  owed.broken(fmt::format("'{}' gets {} and pulls in at {}", owed.subject.name, floor.value, floor.limit), floor,
              solved.describe(lowest))
      .note(coil_hot_of(loom, coil)
                ? fmt::format("pull-in voltage of a coil at {}, after hours at its largest voltage", show(warm))
                : fmt::format("pull-in voltage at {} around it", show(warm)))
      .see(place_of(loom, coil, coil.volts_v), "rated voltage")
      .fix("a coil made for this supply, or a larger wire if the way there loses it");
}

void judge_coil(const Rule& rule, const Solved& solved, const PoleMap& poles, std::size_t i, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Coil& coil = loom.elements.coils[i];
  Obligation& owed = ledger.open(rule, subject_of(loom, coil, true));
  const Extreme& highest = solved.extremes.coil_high_v[i];
  if (!coil.volts_v || !coil.ohm) {
    owed.undecided(fmt::format("the coil of '{}' is not described", loom.part(coil.part).name),
                   ask_for(loom, coil, coil.volts_v ? coil.ohm : coil.volts_v, "12 V 1 A"));
    return;
  }
  if (!highest || highest.value < 0.5) {
    if (!solved.troubled.empty() || !solved.left_out.empty()) {
      owed.undecided(fmt::format("'{}' is fed in no situation that was settled", owed.subject.name),
                     "see what comes-to-rest says of those that were not");
      return;
    }
    owed.broken(fmt::format("'{}' is fed in no situation", owed.subject.name))
        .note("its contact never moves")
        .fix("see where its supply should come from; a supply that its own contact feeds never comes")
        .as(Severity::nuisance);
    return;
  }
  too_high(solved, highest, coil_share * *coil.volts_v, place_of(loom, coil, coil.volts_v), owed);
  tell_wrong_supply(solved, poles, coil.a, coil.b, coil_share * *coil.volts_v, owed);
  if (owed.verdict == Verdict::holds && coil.pull_in_v) judge_pull_in(solved, i, owed);
  judge_winding(solved, i, owed);
}

// The most that an empty pack gives this input: several in a row give more than each says by itself. What a charger
// holds up does not count.
double most_when_empty(const Solved& solved, const Converter& c) {
  const auto& sources = solved.loom->elements.sources;
  double most = 0;
  for (const OperatingPoint& point : solved.points) {
    if (point.situation.duty || point.situation.charge != Charge::empty) continue;
    bool charged = false;
    for (std::size_t i = 0; i < sources.size(); ++i)
      charged |= sources[i].zone == Zone::traction && !sources[i].sinks && point.source_a[i] > 0;
    const auto v = voltage(solved.circuit, point, c.in_pos, c.in_neg);
    if (v && !charged) most = std::max(most, v->value);
  }
  return most;
}

void judge_converter(const Rule& rule, const Solved& solved, const PoleMap& poles, std::size_t i, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Converter& c = loom.elements.converters[i];
  Obligation& owed = ledger.open(rule, subject_of(loom, c.part));
  const Extreme& highest = solved.extremes.converter_high_v[i];
  if (tell_backward(solved, poles, c.in_pos, c.in_neg, owed)) return;
  if (!highest || highest.value < no_voltage_v) {
    owed.undecided(fmt::format("'{}' is fed in no situation that was settled", owed.subject.name),
                   "see whether its input is wired as meant");
    return;
  }
  if (!c.high_v || !c.low_v) {
    owed.undecided(
        fmt::format("'{}' is fed {} and its input window is not given", owed.subject.name, show(Volt(highest.value))),
        fmt::format("write `in: 36 V to 75 V` in part '{}'", owed.subject.name));
    return;
  }
  too_high(solved, highest, *c.high_v, place_of(loom, c, c.high_v), owed);
  tell_wrong_supply(solved, poles, c.in_pos, c.in_neg, *c.high_v, owed);
  const Extreme& lowest = solved.extremes.converter_low_v[i];
  if (owed.verdict != Verdict::holds) return;
  if (!lowest && highest.value >= *c.low_v) {
    owed.broken(fmt::format("'{}' is fed {}, within its window, and runs in no situation", owed.subject.name,
                            show(Volt(highest.value))),
                std::nullopt, solved.describe(highest))
        .fix("see what switches it on, and whether both its input leads lead to the supply");
    return;
  }
  if (!lowest) {
    owed.broken(fmt::format("'{}' is fed {} at most and works from {}", owed.subject.name, show(Volt(highest.value)),
                            show(Volt(*c.low_v))),
                Figure{show(Volt(highest.value)), show(Volt(*c.low_v)), used_of_floor(highest.value, *c.low_v)},
                solved.describe(highest))
        .see(place_of(loom, c, c.low_v), "what it is made for")
        .fix("a converter made for this pack");
    return;
  }
  // Below its window it stops: with a duty on, that is a breakdown on the way.
  const double least_v = *c.low_v;
  Extreme sag;
  for (std::size_t p = 0; p < solved.points.size(); ++p) {
    if (!solved.points[p].situation.duty) continue;
    const auto v = voltage(solved.circuit, solved.points[p], c.in_pos, c.in_neg);
    if (v && v->value > meant_share * least_v && (!sag || v->value < sag.value)) sag = {v->value, p};
  }
  if (sag) {
    const Figure floor{show(Volt(sag.value)), show(Volt(least_v)), used_of_floor(sag.value, least_v)};
    if (floor.used > 1) {
      owed.broken(fmt::format("'{}' gets {} and works from {}", owed.subject.name, floor.value, floor.limit), floor,
                  solved.describe(sag))
          .see(place_of(loom, c, c.low_v), "what it is made for")
          .fix("a converter that works down to there, or a lead of its own from the pack");
      return;
    }
    owed.holds(floor, solved.describe(sag));
  }
  // It runs within its window only, so an empty pack below the window shows in the pack's own numbers.
  const double empty_v = most_when_empty(solved, c);
  for (const Source& s : loom.elements.sources) {
    if (s.zone != Zone::traction || !s.sinks || !s.empty_v ||
        solved.circuit.island_of[solved.circuit.node(s.pos)] !=
            solved.circuit.island_of[solved.circuit.node(c.in_pos)]) {
      continue;
    }
    if (*s.empty_v < *c.low_v && empty_v < *c.low_v) {
      owed.broken(fmt::format("'{}' stops at {} and the empty pack has {}", owed.subject.name, show(Volt(*c.low_v)),
                              show(Volt(*s.empty_v))),
                  Figure{show(Volt(*s.empty_v)), show(Volt(*c.low_v)), used_of_floor(*s.empty_v, *c.low_v)},
                  "empty pack")
          .see(place_of(loom, c, c.low_v), "what it is made for")
          .fix("a converter that works down to the empty pack, or lights and contactor go out before the ride ends");
    }
  }
}

struct Poles {
  TerminalIndex pos, neg;
};

// Of a part that feeds others: its sources but those of signals, and the outputs of its converters.
std::vector<Poles> supplies_of(const Loom& loom, PartIndex part) {
  std::vector<Poles> out;
  for (const Source& s : loom.elements.sources) {
    if (s.part == part && s.zone != Zone::signal) out.push_back({s.pos, s.neg});
  }
  for (const Converter& c : loom.elements.converters) {
    if (c.part == part) out.push_back({c.out_pos, c.out_neg});
  }
  return out;
}

// "'drive', 'dcdc' and 'charger'".
std::string listed(const Loom& loom, const std::vector<PartIndex>& parts) {
  std::string out;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const std::string_view joint = i == 0 ? "" : i + 1 == parts.size() ? " and " : ", ";
    out += fmt::format("{}'{}'", joint, loom.part(parts[i]).name);
  }
  return out;
}

// Read from the wiring: most of what it feeds lies backward on it, and no situation is asked.
void tell_turned(const Loom& loom, const PolePair& turned, Obligation& owed) {
  owed.broken(fmt::format("'{}' is connected the wrong way round: '{}' leads to the negative of {}, and '{}' to the "
                          "positive",
                          loom.part(turned.part).name, loom.title(turned.pos), listed(loom, turned.backward),
                          loom.title(turned.neg)))
      .note(
          "what holds semiconductors shorts a supply that is turned, through diodes that no switch opens, or dies of "
          "it")
      .fix(fmt::format("exchange the wires at '{}' and '{}'", loom.title(turned.pos), loom.title(turned.neg)))
      .as(Severity::danger)
      .of_wiring();
}

// Another source drives a supply backward where the poles of one of them are exchanged: the two stand in series then,
// and what flows is held by nothing but a fuse. A part of several sections is told once.
void judge_supply(const Rule& rule, const Solved& solved, const PoleMap& poles, PartIndex part, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const std::vector<Poles> supplies = supplies_of(loom, part);
  if (supplies.empty()) return;
  std::optional<Poles> worst;
  Extreme least;
  for (const Poles& s : supplies) {
    const Extreme own = lowest_of(solved, s.pos, s.neg);
    if (!own || (least && own.value >= least.value)) continue;
    least = own;
    worst = s;
  }
  Subject subject = subject_of(loom, part);
  subject.name += ".poles";
  Obligation& owed = ledger.open(rule, std::move(subject));
  if (const PolePair* turned = poles.turned(part)) {
    tell_turned(loom, *turned, owed);
    return;
  }
  if (!worst || least.value >= -no_voltage_v) {
    owed.holds("driven backward in no situation");
    return;
  }
  const PolePair* other = poles.turned_behind(worst->pos, worst->neg);
  const std::string name = loom.part(part).name, backward = show(Volt(-least.value));
  owed.broken(other != nullptr
                  ? fmt::format("'{}' stands against '{}', which is turned: {} lie across it backward", name,
                                loom.part(other->part).name, backward)
                  : fmt::format("'{}' is connected the wrong way round: another supply puts {} across it backward",
                                name, backward),
              std::nullopt, solved.describe(least))
      .note("the two stand in series, and what they drive through one another ends at a fuse or in fire")
      .as(Severity::danger);
  if (other != nullptr) {
    owed.fix(exchange(loom, *other));
    return;
  }
  owed.fix(fmt::format("swap '{}' and '{}', or the poles of what stands against it", loom.title(worst->pos),
                       loom.title(worst->neg)))
      .of_wiring();
}

void judge_supply_voltage(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Elements& all = solved.loom->elements;
  const PoleMap poles(solved);
  for (std::size_t p = 0; p < solved.loom->parts.size(); ++p) judge_supply(rule, solved, poles, PartIndex{p}, ledger);
  for (std::size_t i = 0; i < all.loads.size(); ++i) judge_load(rule, solved, poles, i, ledger);
  for (std::size_t i = 0; i < all.coils.size(); ++i) judge_coil(rule, solved, poles, i, ledger);
  for (std::size_t i = 0; i < all.converters.size(); ++i) judge_converter(rule, solved, poles, i, ledger);
}

}  // namespace

const Rule supply_voltage{
    .slug = "supply-voltage",
    .group = Group::insulation,
    .severity = Severity::damage,
    .promise = "Every part is fed within the voltage that it is made for, at full and at empty pack.",
    .judge = judge_supply_voltage,
};

}  // namespace loomproof
