// Stories are settled once more in a network of their own: the walk keeps no points.
#include "rules/story.h"

#include <algorithm>
#include <cmath>

#include <fmt/ranges.h>

#include "rules/subject.h"
#include "solve/describe.h"
#include "solve/supply.h"
#include "units/print.h"

namespace loomproof {
namespace {

constexpr std::size_t most_named = 6;

std::string situation_of(const Solved& solved, const Sighting& s) {
  std::string out = solved.describe(s.situation);
  if (s.fault) out += ", " + describe(*solved.loom, solved.faults->faults[*s.fault]);
  return out;
}

// What the branch is to a reader who follows the current: a wire's or a part's name.
std::string stop_name(const Loom& loom, const Branch& b) {
  const Elements& all = loom.elements;
  switch (b.type) {
    case BranchType::wire:
      return loom.wires[b.index].name;
    case BranchType::fuse:
      return loom.part(all.fuses[b.index].part).name;
    case BranchType::contact:
      return loom.part(all.contacts[b.index].part).name;
    case BranchType::diode:
      return loom.part(all.diodes[b.index].part).name;
    case BranchType::resistance:
      return loom.part(all.resistances[b.index].part).name;
    default:
      return {};
  }
}

struct Way {
  std::string words;
  std::vector<WireIndex> wires;
};

// An unplugged charger's poles lead everywhere and feed nothing.
bool gives(const Solved& solved, const LogicState& logic, const SupplyPoles& supply) {
  const Circuit& circuit = solved.circuit;
  const Elements& all = solved.loom->elements;
  for (std::size_t i = 0; i < all.sources.size(); ++i) {
    const Source& s = all.sources[i];
    const bool is_its =
        s.part == supply.part && (circuit.node(s.pos) == supply.pos || circuit.node(s.neg) == supply.neg);
    if (is_its && logic.source_on[i] != 0) return true;
  }
  for (std::size_t i = 0; i < all.converters.size(); ++i) {
    if (all.converters[i].part == supply.part && logic.converter_on[i] != 0) return true;
  }
  return false;
}

// The conductors from the nearest supply that is on to a node in that state of the contacts; empty when there are none.
Way way_to(const Solved& solved, const LogicState& logic, int node, std::optional<WireIndex> open) {
  const Circuit& circuit = solved.circuit;
  const BranchFilter passes = [&](const Branch& b) {
    if (b.type == BranchType::contact && logic.contact_closed[b.index] == 0) return false;
    if (b.type == BranchType::wire && open && open->value == b.index) return false;
    return is_conductor(circuit, b);
  };
  std::vector<std::size_t> best;
  std::string start;
  for (const bool positive : {true, false}) {
    for (const SupplyPoles& supply : supply_poles(circuit)) {
      const int pole = positive ? supply.pos : supply.neg;
      if (pole == node || !gives(solved, logic, supply)) continue;
      std::vector<std::size_t> walk = walk_between(solved.graph, circuit, pole, node, passes);
      if (walk.empty() || (!best.empty() && walk.size() >= best.size())) continue;
      best = std::move(walk);
      start = solved.loom->part(supply.part).name;
    }
    if (!best.empty()) break;
  }
  Way out;
  if (best.empty()) return out;
  out.words = start;
  std::string last = start;
  for (std::size_t b : best) {
    const Branch& branch = circuit.branches[b];
    if (branch.type == BranchType::wire) out.wires.push_back(WireIndex{branch.index});
    const std::string name = stop_name(*solved.loom, branch);
    if (name.empty() || name == last) continue;
    out.words += " -> " + name;
    last = name;
  }
  return out;
}

std::string threshold_of(const Input& input) {
  if (input.analogue) {
    std::string out;
    if (input.zero_v) out += fmt::format("torque from {}", show(Volt(*input.zero_v)));
    if (input.valid_low_v && input.valid_high_v)
      out += fmt::format(", valid from {} to {}", show(Volt(*input.valid_low_v)), show(Volt(*input.valid_high_v)));
    return out;
  }
  if (!input.on_above_v) return "no threshold given";
  return fmt::format("{} from {}", input.active_high ? "asserted" : "idle", show(Volt(*input.on_above_v)));
}

std::optional<double> reading(const Circuit& circuit, const OperatingPoint& point, const Input& input) {
  const auto v = voltage(circuit, point, input.terminal, input.reference);
  return v ? std::optional(v->value) : std::nullopt;
}

std::string volts_or_nothing(std::optional<double> v) {
  return v ? show(Volt(std::fabs(*v) < 1e-3 ? 0 : *v)) : std::string("nothing");
}

// Inputs that read otherwise than without the fault, with what they see; and the way of the first one's current.
void tell_inputs(const Solved& solved, const Retold& told, const Sighting& s, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const Elements& all = loom.elements;
  std::optional<WireIndex> open;
  if (s.fault && solved.faults->faults[*s.fault].type == FaultType::wire_open)
    open = wire_of(solved.faults->faults[*s.fault]);
  for (std::size_t i = 0; i < all.inputs.size(); ++i) {
    const Input& input = all.inputs[i];
    const bool now = told.with_fault().logic.input_on[i] != 0;
    const bool before = told.without_fault().logic.input_on[i] != 0;
    if (now == before) continue;
    const auto v = reading(told.circuit(), told.with_fault(), input);
    const auto was = reading(told.circuit(), told.without_fault(), input);
    owed.note(fmt::format("'{}' reads {} ({}); without the fault {}", loom.title(input.terminal), volts_or_nothing(v),
                          threshold_of(input), volts_or_nothing(was)));
    const int node = solved.circuit.node(input.terminal);
    if (!owed.path.empty()) continue;
    const Way lost = way_to(solved, told.without_fault().logic, node, {});
    const Way there = way_to(solved, told.with_fault().logic, node, open);
    const bool energised = v && was && std::fabs(*v) > std::fabs(*was);
    const Way& way = energised && !there.words.empty() ? there : lost;
    if (way.words.empty()) continue;
    owed.path = way.wires;
    owed.note(fmt::format("{}: {} -> {}", energised ? "the current comes by" : "without the fault it comes by",
                          way.words, loom.title(input.terminal)));
  }
  for (std::size_t i = 0; i < all.coils.size(); ++i) {
    const bool now = told.with_fault().logic.coil_on[i] != 0;
    if (!now || told.without_fault().logic.coil_on[i] != 0) continue;
    owed.note(fmt::format("the coil of '{}' is on", loom.part(all.coils[i].part).name));
    if (!owed.path.empty()) continue;
    const Way way = way_to(solved, told.with_fault().logic, solved.circuit.node(all.coils[i].a), open);
    if (way.words.empty()) continue;
    owed.path = way.wires;
    owed.note("its current comes by: " + way.words);
  }
  for (std::size_t f : told.blown()) owed.note(fmt::format("'{}' has opened", loom.part(all.fuses[f].part).name));
}

// Where no conductor leads to what the story is about: the wires whose current the fault alters, as far as a meter
// would tell.
std::vector<WireIndex> altered_wires(const Loom& loom, const Retold& told) {
  constexpr double least_a = 1e-3, least_share = 0.05;
  std::vector<double> by_a(loom.wires.size(), 0);
  double most_a = 0;
  for (std::size_t w = 0; w < by_a.size(); ++w) {
    by_a[w] = std::fabs(wire_current(told.circuit(), told.with_fault(), WireIndex{w}).value -
                        wire_current(told.circuit(), told.without_fault(), WireIndex{w}).value);
    most_a = std::max(most_a, by_a[w]);
  }
  std::vector<WireIndex> out;
  for (std::size_t w = 0; w < by_a.size(); ++w) {
    if (by_a[w] >= std::max(least_a, least_share * most_a)) out.push_back(WireIndex{w});
  }
  return out;
}

// What the watch is about, without any fault.
void tell_cause(const Solved& solved, const Watch& watch, const OperatingPoint& point, Obligation& owed) {
  const Elements& all = solved.loom->elements;
  switch (watch.what) {
    case Watch::What::torque:
      return tell_enables(solved, point, all.outputs[watch.index].part, owed);
    case Watch::What::contactor:
      return tell_feed(solved, point, all.coils[watch.index].a, owed);
    case Watch::What::bus:
      return tell_feed(solved, point, all.loads[watch.index].pos, owed);
    case Watch::What::throttle:
    case Watch::What::level:
      return tell_feed(solved, point, all.inputs[watch.index].terminal, owed);
    case Watch::What::lamp:
      return tell_feed(solved, point, all.loads[watch.index].pos, owed);
    case Watch::What::must:
      break;  // the rule itself tells it
  }
}

// "with 'key' on and 'start' pressed", "with every switch at rest"
std::string standing(const Loom& loom, const std::vector<std::int8_t>& positions) {
  std::string out;
  for (std::size_t p = 0; p < positions.size(); ++p) {
    if (positions[p] == 0) continue;
    out += fmt::format("{} '{}' {}", out.empty() ? "with" : " and", loom.parts[p].name,
                       loom.parts[p].positions[positions[p]]);
  }
  return out.empty() ? "with every switch at rest" : out;
}

// The way to a state that only remembering leads to: without it nobody could bring the vehicle there.
void tell_history(const Loom& loom, const Sighting& s, Obligation& owed) {
  if (s.history.empty()) return;
  owed.moves.push_back(standing(loom, s.history.front()));
  for (std::size_t i = 1; i < s.history.size(); ++i) {
    for (std::size_t p = 0; p < loom.parts.size(); ++p) {
      if (s.history[i][p] != s.history[i - 1][p])
        owed.moves.push_back(fmt::format("'{}' to {}", loom.parts[p].name, loom.parts[p].positions[s.history[i][p]]));
    }
  }
  owed.note(fmt::format("it remembers; from rest: {}", fmt::join(owed.moves, ", then ")));
}

void tell(const Solved& solved, const Sighting& s, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const Retold told(solved.circuit, *solved.faults, s);
  tell_history(loom, s, owed);
  if (s.fault) {
    const Fault& f = solved.faults->faults[*s.fault];
    owed.see(place_of(loom, f), describe(loom, f));
  }
  tell_inputs(solved, told, s, owed);
  if (!s.fault) return;
  if (owed.path.empty()) owed.path = altered_wires(loom, told);
  const std::optional<WireIndex> faulty = wire_of(solved.faults->faults[*s.fault]);
  if (faulty && std::find(owed.path.begin(), owed.path.end(), *faulty) == owed.path.end()) owed.path.push_back(*faulty);
  owed.note(s.announced.empty() ? std::string("nothing shows the fault before it is needed")
                                : "the fault shows: " + s.announced);
}

// "'B5' is open", "the coil of 'main' is open".
std::string clause_of(const Loom& loom, const Fault& f) {
  if (f.type == FaultType::coil_open) return fmt::format("the coil of '{}' is open", name_of(loom, f));
  if (f.type == FaultType::contact_open) return fmt::format("'{}' does not close", name_of(loom, f));
  return fmt::format("'{}' is {}", name_of(loom, f), what_happened(loom, f));
}

std::string names_of(const Solved& solved, const std::vector<const Sighting*>& list) {
  std::string out;
  for (std::size_t i = 0; i < std::min(list.size(), most_named); ++i) {
    if (i > 0) out += ", ";
    out += describe(*solved.loom, solved.faults->faults[*list[i]->fault]);
  }
  if (list.size() > most_named) out += fmt::format(" and {} more", list.size() - most_named);
  return out;
}

}  // namespace

void tell_feed(const Solved& solved, const OperatingPoint& point, TerminalIndex terminal, Obligation& owed) {
  const Way way = way_to(solved, point.logic, solved.circuit.node(terminal), {});
  if (way.words.empty()) return;
  owed.note(fmt::format("'{}' is fed by: {}", solved.loom->title(terminal), way.words));
  for (const WireIndex wire : way.wires) {
    if (std::find(owed.path.begin(), owed.path.end(), wire) == owed.path.end()) owed.path.push_back(wire);
  }
}

void tell_enables(const Solved& solved, const OperatingPoint& point, PartIndex part, Obligation& owed) {
  const Elements& all = solved.loom->elements;
  for (std::size_t i = 0; i < all.inputs.size(); ++i) {
    const Input& input = all.inputs[i];
    if (input.part != part || input.analogue || point.logic.input_on[i] == 0) continue;
    tell_feed(solved, point, input.terminal, owed);
  }
}

std::string when_of(const Loom& loom, const Watch& w) {
  std::string out;
  for (const auto& [part, position] : w.when) {
    if (!out.empty()) out += " and ";
    out += fmt::format("'{}' {}", loom.part(part).name, loom.part(part).positions[position]);
  }
  return out;
}

void judge_watch(const Solved& solved, const WatchResult& result, const StoryWords& words, Obligation& owed,
                 Ledger& ledger) {
  const FaultWalk& walk = *solved.faults;
  if (result.without_fault) {
    owed.broken(words.happens, std::nullopt, situation_of(solved, *result.without_fault)).as(words.silent);
    tell(solved, *result.without_fault, owed);
    if (owed.path.empty())
      tell_cause(solved, result.watch, Retold(solved.circuit, walk, *result.without_fault).without_fault(), owed);
    owed.fix(words.fix);
    return;
  }
  std::vector<const Sighting*> silent, shown, own;
  for (const Sighting& s : result.by_fault) {
    const bool weld = words.welds_only_listed && walk.faults[*s.fault].type == FaultType::contact_welded;
    (s.of_the_switch || weld || words.faults_only_listed ? own : s.announced.empty() ? silent : shown).push_back(&s);
  }
  for (const Sighting* s : own) {
    ledger.single_point({describe(*solved.loom, walk.faults[*s->fault]), words.happens});
  }
  std::vector<const Sighting*>& graded = silent.empty() ? shown : silent;
  if (!graded.empty()) {
    const auto smallest = std::min_element(graded.begin(), graded.end(),
                                           [](const Sighting* a, const Sighting* b) { return a->moved < b->moved; });
    std::rotate(graded.begin(), smallest, smallest + 1);
    const Sighting& s = *graded.front();
    owed.broken(fmt::format("{} when {}", words.happens, clause_of(*solved.loom, walk.faults[*s.fault])), std::nullopt,
                situation_of(solved, s))
        .as(silent.empty() ? words.with_sign : words.silent);
    tell(solved, s, owed);
    graded.erase(graded.begin());
    if (!silent.empty() && !shown.empty()) graded.insert(graded.end(), shown.begin(), shown.end());
    if (!graded.empty()) owed.note("so does: " + names_of(solved, graded));
    owed.fix(words.fix);
    return;
  }
  if (result.unsettled > 0) {
    owed.undecided(
        fmt::format("with a fault in, {} situations did not settle: {} is not proved", result.unsettled, words.stays),
        "see what chatters or hunts there; simplify the circuit round it");
    return;
  }
  if (!result.left_out.empty()) {
    owed.undecided(fmt::format("{} is not proved under every fault: {}", words.stays, result.left_out),
                   "split the file, or fix switches under `with` of the duty points");
    return;
  }
  if (own.empty()) {
    owed.holds(fmt::format("{}, also under every single fault", words.stays));
  } else {
    owed.holds(fmt::format("{}, also under every single fault but {}, listed as single points of failure", words.stays,
                           own.size()));
  }
}

}  // namespace loomproof
