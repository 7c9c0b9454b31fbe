// Narrowing the logic, and comparing the blocks of a reading.
#include "solve/fault_bounds.h"

#include <algorithm>
#include <iterator>

#include "solve/opened.h"

namespace loomproof {
namespace {

constexpr std::size_t most_settings = 8;

}  // namespace

Parts exclusive_switches(const Loom& loom, const Parts& of) {
  std::map<std::size_t, std::vector<const std::vector<int>*>> closed_at;
  for (const Contact& c : loom.elements.contacts) {
    if (c.closed_when.op == Condition::Op::position) closed_at[c.part.value].push_back(&c.closed_when.positions);
  }
  Parts out;
  std::copy_if(of.begin(), of.end(), std::back_inserter(out), [&](std::size_t p) {
    const auto& lists = closed_at[p];
    const auto positions = static_cast<int>(loom.parts[p].positions.size());
    for (int k = 0; k < positions; ++k) {
      const auto is_closed = [&](const std::vector<int>* at) {
        return std::find(at->begin(), at->end(), k) != at->end();
      };
      if (std::all_of(lists.begin(), lists.end(), is_closed)) return false;
    }
    return lists.size() > 1;
  });
  return out;
}

FaultBounds::FaultBounds(const Circuit& circuit, const FaultLines& lines, const std::vector<WatchResult>& watches)
    : circuit_(circuit),
      lines_(lines),
      all_(circuit.loom->elements),
      watches_(watches),
      bounds_(circuit, lines),
      walk_(static_cast<std::size_t>(circuit.nodes)) {
  for (std::size_t l = 0; l < lines.all.size(); ++l) walk_.add(lines.all[l].a, lines.all[l].b, l);
  for (const Contact& c : all_.contacts) by_hand_.push_back(moves_by_hand(c.closed_when) ? 1 : 0);
  block_of_.resize(lines.all.size());
}

void FaultBounds::lay(const Fault* fault) {
  laid_ = fault != nullptr ? laid_by(*fault, circuit_, lines_) : LaidFault{};
  there_ = lines_there(lines_, laid_);
  held_.assign(all_.contacts.size(), -1);
  for (std::size_t i : laid_.logic.contacts_closed) held_[i] = 1;
  for (std::size_t i : laid_.logic.contacts_open) held_[i] = 0;
  bounds_.begin(there_, fault != nullptr);
}

bool FaultBounds::may_reach(TerminalIndex a, TerminalIndex b, double volts) {
  return bounds_.between(circuit_.node(a), circuit_.node(b), volts) >= volts;
}

bool FaultBounds::may_exceed(TerminalIndex a, TerminalIndex b, double volts) {
  return bounds_.between(circuit_.node(a), circuit_.node(b), volts) > volts;
}

FaultBounds::Ternary FaultBounds::holds(const Condition& c, PartIndex part) {
  using Op = Condition::Op;
  const auto of = [&](const std::vector<std::uint8_t>& on, const std::vector<std::uint8_t>& off) {
    return Ternary{on[c.index] != 0, off[c.index] != 0};
  };
  switch (c.op) {
    case Op::always:
      return {true, false};
    case Op::all: {
      Ternary out{true, false};
      for (const Condition& inner : c.of) {
        const Ternary t = holds(inner, part);
        out = Ternary{out.first && t.first, out.second || t.second};
      }
      return out;
    }
    case Op::any: {
      Ternary out{false, true};
      for (const Condition& inner : c.of) {
        const Ternary t = holds(inner, part);
        out = Ternary{out.first || t.first, out.second && t.second};
      }
      return out;
    }
    case Op::invert: {
      const Ternary t = holds(c.of.front(), part);
      return Ternary{t.second, t.first};
    }
    case Op::input:
      return of(may_.on.input_on, may_.off.input_on);
    case Op::output:
      return of(may_.on.output_on, may_.off.output_on);
    case Op::coil:
      return of(may_.on.coil_on, may_.off.coil_on);
    case Op::position: {
      const int at = may_.positions[part.value];
      const auto is_in = [&](int k) {
        return std::find(c.positions.begin(), c.positions.end(), k) != c.positions.end();
      };
      if (at >= 0) return {is_in(at), !is_in(at)};
      Ternary out{false, false};
      const int count = std::max(1, static_cast<int>(circuit_.loom->part(part).positions.size()));
      for (int k = 0; k < count; ++k) (is_in(k) ? out.first : out.second) = true;
      return out;
    }
    case Op::powered:
      return {may_reach(c.pos, c.neg, powered_above_v(c)), true};
  }
  return {true, true};
}

void FaultBounds::limit(std::uint8_t& on, std::uint8_t& off, Ternary t, bool& moved) {
  moved |= (on != 0 && !t.first) || (off != 0 && !t.second);
  on = on != 0 && t.first ? 1 : 0;
  off = off != 0 && t.second ? 1 : 0;
}

// What each still may be by what it may see; whether what may conduct has become less.
bool FaultBounds::step() {
  const auto is_in = [](const std::vector<std::size_t>& list, std::size_t i) {
    return std::find(list.begin(), list.end(), i) != list.end();
  };
  bounds_.look(may_.on);
  bool moved = false, conducts_less = false;
  for (std::size_t i = 0; i < all_.coils.size(); ++i) {
    if (may_.on.coil_on[i] == 0) continue;
    const Coil& c = all_.coils[i];
    const bool on = !is_in(laid_.logic.dead_coils, i) && may_reach(c.a, c.b, least_coil_v(c));
    limit(may_.on.coil_on[i], may_.off.coil_on[i], {on, true}, moved);
  }
  for (std::size_t i = 0; i < all_.inputs.size(); ++i) {
    const Input& input = all_.inputs[i];
    if (may_.on.input_on[i] + may_.off.input_on[i] < 2) continue;
    const double v =
        bounds_.between(circuit_.node(input.terminal), circuit_.node(input.reference), silent_up_to_v(input));
    limit(may_.on.input_on[i], may_.off.input_on[i], may_read(input, v), moved);
  }
  for (std::size_t i = 0; i < all_.converters.size(); ++i) {
    if (may_.on.converter_on[i] == 0) continue;
    const Converter& c = all_.converters[i];
    const bool on = !is_in(laid_.logic.dead_converters, i) && may_exceed(c.in_pos, c.in_neg, least_converter_v) &&
                    (!c.low_v || may_reach(c.in_pos, c.in_neg, *c.low_v));
    limit(may_.on.converter_on[i], may_.off.converter_on[i], {on, true}, conducts_less);
  }
  do {
    moved = false;
    for (std::size_t i = 0; i < all_.outputs.size(); ++i)
      limit(may_.on.output_on[i], may_.off.output_on[i], holds(all_.outputs[i].when, all_.outputs[i].part), moved);
    for (std::size_t i = 0; i < all_.converters.size(); ++i) {
      const Ternary t = holds(all_.converters[i].when, all_.converters[i].part);
      limit(may_.on.converter_on[i], may_.off.converter_on[i], {t.first, true}, conducts_less);
    }
    for (std::size_t i = 0; i < all_.contacts.size(); ++i) {
      if (by_hand_[i] != 0 && held_[i] < 0) continue;
      const int held = held_[i];
      const Ternary t =
          held >= 0 ? Ternary{held == 1, held == 0} : holds(all_.contacts[i].closed_when, all_.contacts[i].part);
      limit(may_.on.contact_closed[i], may_.off.contact_closed[i], t, conducts_less);
    }
    for (std::size_t i = 0; i < all_.sources.size(); ++i) {
      const Ternary t =
          is_in(laid_.logic.dead_sources, i) ? Ternary{false, true} : holds(all_.sources[i].when, all_.sources[i].part);
      limit(may_.on.source_on[i], may_.off.source_on[i], t, conducts_less);
    }
  } while (moved);
  return conducts_less;
}

// Everything may be, at whatever position but that of a switch that is stuck.
void FaultBounds::start() {
  may_.positions.assign(circuit_.loom->parts.size(), -1);
  for (LogicState* s : {&may_.on, &may_.off}) {
    s->contact_closed.assign(all_.contacts.size(), 1);
    s->coil_on.assign(all_.coils.size(), 1);
    s->input_on.assign(all_.inputs.size(), 1);
    s->output_on.assign(all_.outputs.size(), 1);
    s->source_on.assign(all_.sources.size(), 1);
    s->converter_on.assign(all_.converters.size(), 1);
  }
  if (laid_.stuck) may_.positions[laid_.stuck->first.value] = laid_.stuck->second;
}

void FaultBounds::set(PartIndex part, int position) {
  if (!laid_.stuck || laid_.stuck->first != part) may_.positions[part.value] = position;
}

// What hangs on the switches alone is known before anything is looked at.
void FaultBounds::set_by_hand() {
  bool moved = false;
  for (std::size_t i = 0; i < all_.contacts.size(); ++i) {
    if (held_[i] < 0 && by_hand_[i] != 0)
      limit(may_.on.contact_closed[i], may_.off.contact_closed[i],
            holds(all_.contacts[i].closed_when, all_.contacts[i].part), moved);
  }
}

// Until nothing moves any more, or none of the watches can be violated; takes those out that cannot.
void FaultBounds::narrow(std::vector<std::size_t>& watches) {
  set_by_hand();
  bool moves = true;
  while (moves && !watches.empty()) {
    moves = step();
    watches.erase(std::remove_if(watches.begin(), watches.end(), [&](std::size_t w) { return !may_violate(w); }),
                  watches.end());
    if (!moves && !watches.empty()) moves = find_quiet_throttles();
  }
}

// What reads as it does without the fault with the grip at rest is no throttle.
bool FaultBounds::find_quiet_throttles() {
  bool moved = false;
  for (const auto& [w, known] : known_) {
    const std::size_t input = watches_[w].watch.index;
    if (may_.on.input_on[input] == 0) continue;
    if (reads_as_without(w)) limit(may_.on.input_on[input], may_.off.input_on[input], {false, true}, moved);
  }
  return moved;
}

bool FaultBounds::may_violate(std::size_t w) {
  const Watch& watch = watches_[w].watch;
  switch (watch.what) {
    case Watch::What::torque:
      return may_.on.output_on[watch.index] != 0;
    case Watch::What::throttle:
      return may_.on.input_on[watch.index] != 0 && !reads_as_without(w);
    case Watch::What::bus: {
      const Load& bus = all_.loads[watch.index];
      return may_exceed(bus.pos, bus.neg, touch_safe_v);
    }
    case Watch::What::contactor:
      return may_.on.coil_on[watch.index] != 0;
    case Watch::What::level: {
      const Input& input = all_.inputs[watch.index];
      return may_exceed(input.terminal, input.reference, *input.max_v);
    }
    case Watch::What::lamp: {
      const std::vector<std::size_t> commands = lamp_commands(*circuit_.loom);
      return std::any_of(commands.begin(), commands.end(), [&](std::size_t o) { return may_.on.output_on[o] != 0; });
    }
    case Watch::What::must: {
      const Must& must = circuit_.loom->musts[watch.index];
      if (must.live) {
        const auto above = [&](TerminalIndex neg) { return may_exceed(*must.live, neg, dead_v); };
        return std::any_of(all_.sources.begin(), all_.sources.end(), [&](const Source& s) { return above(s.neg); }) ||
               std::any_of(all_.converters.begin(), all_.converters.end(),
                           [&](const Converter& c) { return above(c.out_neg); });
      }
      for (std::size_t o = 0; must.output && o < all_.outputs.size(); ++o) {
        if (all_.outputs[o].part == must.output->first && all_.outputs[o].name == must.output->second)
          return may_.on.output_on[o] != 0;
      }
      return false;
    }
  }
  return true;
}

FaultBounds::Reading FaultBounds::reading_of(std::size_t input) {
  blocks_.clear();
  walk_.walk([&](std::size_t l) { return there_[l] != 0 && conducts(circuit_, lines_, l, may_.on); },
             [](int, int, std::size_t) {}, [](int, int, std::size_t) {},
             [&](std::size_t, const std::size_t* first, const std::size_t* last) {
               for (const std::size_t* l = first; l != last; ++l) block_of_[*l] = blocks_.size();
               blocks_.emplace_back(first, last);
             });
  Reading out;
  std::vector<std::size_t> way;
  walk_.list_way(circuit_.node(all_.inputs[input].terminal), circuit_.node(all_.inputs[input].reference), way);
  std::set<std::size_t> on_way;
  for (std::size_t l : way) on_way.insert(block_of_[l]);
  for (std::size_t k : on_way) out.lines.insert(out.lines.end(), blocks_[k].begin(), blocks_[k].end());
  std::sort(out.lines.begin(), out.lines.end());
  for (std::size_t l : out.lines) {
    if (!lines_.is_branch(l)) continue;
    const Branch& branch = circuit_.branches[l];
    switch (branch.type) {
      case BranchType::source:
      case BranchType::contact:
        out.switched.push_back(l);
        break;
      case BranchType::divider_upper:
      case BranchType::divider_lower:
        out.plain = out.plain && may_.positions[all_.dividers[branch.index].part.value] >= 0;
        break;
      case BranchType::wire:
      case BranchType::resistance:
      case BranchType::pull:
      case BranchType::coil:
        break;
      default:
        out.plain = false;
    }
  }
  return out;
}

std::vector<int> FaultBounds::divider_positions() const {
  std::vector<int> out;
  for (const Divider& d : all_.dividers) out.push_back(may_.positions[d.part.value]);
  return out;
}

int FaultBounds::is_on(std::size_t line, const LogicState& logic) const {
  const Branch& b = circuit_.branches[line];
  return b.type == BranchType::source ? logic.source_on[b.index] : logic.contact_closed[b.index];
}

void FaultBounds::learn(std::size_t watch, const Table& table) {
  const WatchResult& w = watches_[watch];
  if (w.watch.what != Watch::What::throttle || w.without_fault || w.unsettled != 0) return;
  lay(nullptr);
  start();
  for (const auto& [part, position] : w.watch.when) set(part, position);
  set_by_hand();
  while (step()) {
  }
  Known known{reading_of(w.watch.index), divider_positions(), {}};
  if (!known.reading.plain) return;
  for (const BaseState& state : table.states) {
    if (!matches(w.watch, state.situation.positions)) continue;
    std::vector<int> key;
    for (std::size_t l : known.reading.switched) key.push_back(is_on(l, state.logic));
    key.push_back(static_cast<int>(state.situation.charge));
    known.seen.insert(std::move(key));
  }
  known_[watch] = std::move(known);
}

// Every way in which the sources and contacts may stand, at full and empty pack.
bool FaultBounds::are_all_seen(const Known& known, std::vector<int>& key) const {
  const std::vector<std::size_t>& switched = known.reading.switched;
  if (key.size() == switched.size()) {
    for (Charge charge : {Charge::full, Charge::empty}) {
      key.push_back(static_cast<int>(charge));
      const bool seen = known.seen.count(key) != 0;
      key.pop_back();
      if (!seen) return false;
    }
    return true;
  }
  const std::size_t line = switched[key.size()];
  for (const int on : {0, 1}) {
    if (is_on(line, on != 0 ? may_.on : may_.off) == 0) continue;
    key.push_back(on);
    const bool seen = are_all_seen(known, key);
    key.pop_back();
    if (!seen) return false;
  }
  return true;
}

bool FaultBounds::reads_as_without(std::size_t watch) {
  const auto found = known_.find(watch);
  if (found == known_.end()) return false;
  const Known& known = found->second;
  if (divider_positions() != known.positions) return false;
  const Reading now = reading_of(watches_[watch].watch.index);
  std::vector<int> key;
  return now.plain && now.lines == known.reading.lines && are_all_seen(known, key);
}

// Takes those out of `watches` that no state at this setting, from there on, violates.
void FaultBounds::narrow_at(const Setting& setting, const Narrowed& from, std::vector<std::size_t>& watches) {
  may_ = from;
  for (const auto& [part, position] : setting) set(part, position);
  narrow(watches);
}

// Every setting of as many of these switches as are not too many; those that stand somewhere already are left out.
std::vector<FaultBounds::Setting> FaultBounds::settings_of(const Parts& parts) const {
  std::vector<Setting> out{{}};
  for (std::size_t p : parts) {
    if (may_.positions[p] >= 0) continue;
    std::vector<Setting> next;
    for (const Setting& s : out) {
      for (std::size_t k = 0; k < circuit_.loom->parts[p].positions.size(); ++k) {
        next.push_back(s);
        next.back().emplace_back(PartIndex{p}, static_cast<int>(k));
      }
    }
    if (next.size() > most_settings) break;
    out = std::move(next);
  }
  return out;
}

// Those that are open wherever the switches stand, by the positions at which they look.
FaultBounds::ByWhen FaultBounds::open_by_when(const Fault& fault, std::span<const std::size_t> watches) {
  lay(&fault);
  start();
  std::vector<std::size_t> all(watches.begin(), watches.end());
  narrow(all);
  ByWhen out;
  for (std::size_t w : all) out[watches_[w].watch.when].push_back(w);
  return out;
}

std::vector<std::size_t> FaultBounds::left_open(const Fault& fault, std::span<const std::size_t> watches,
                                                const Parts& apart) {
  const ByWhen by_when = open_by_when(fault, watches);
  const Narrowed any = may_;
  std::set<std::size_t> open;
  for (const auto& [when, watching] : by_when) {
    std::vector<std::size_t> alike = watching;
    narrow_at(when, any, alike);
    if (alike.empty()) continue;
    const Narrowed here = may_;
    for (const Setting& setting : settings_of(apart)) {
      std::vector<std::size_t> left;
      std::copy_if(alike.begin(), alike.end(), std::back_inserter(left),
                   [&](std::size_t w) { return !open.contains(w); });
      if (!setting.empty()) narrow_at(setting, here, left);
      open.insert(left.begin(), left.end());
    }
  }
  return {open.begin(), open.end()};
}

std::vector<FaultBounds::Setting> FaultBounds::never_at(const Fault& fault, std::span<const std::size_t> watches,
                                                        const Parts& switches) {
  const ByWhen by_when = open_by_when(fault, watches);
  const Narrowed any = may_;
  std::map<std::size_t, Setting> never;
  for (const auto& [when, watching] : by_when) {
    std::vector<std::size_t> open = watching;
    narrow_at(when, any, open);
    const Narrowed here = may_;
    for (std::size_t p : switches) {
      for (int k = 0; here.positions[p] < 0 && k < static_cast<int>(circuit_.loom->parts[p].positions.size()); ++k) {
        std::vector<std::size_t> left = open;
        narrow_at({{PartIndex{p}, k}}, here, left);
        for (std::size_t w : open) {
          if (!std::binary_search(left.begin(), left.end(), w)) never[w].emplace_back(PartIndex{p}, k);
        }
      }
    }
  }
  std::vector<Setting> out;
  for (std::size_t w : watches) out.push_back(std::move(never[w]));
  return out;
}

}  // namespace loomproof
