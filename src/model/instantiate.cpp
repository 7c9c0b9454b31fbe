// From kinds and parts to the primitives between terminals: what the network and the rules work on.
#include <algorithm>
#include <charconv>
#include <functional>
#include <map>
#include <set>

#include <fmt/format.h>

#include "model/expression.h"
#include "model/loom.h"

namespace loomproof {
namespace {

std::string filled(std::string_view pattern, std::string_view n) {
  std::string out(pattern);
  const std::size_t at = out.find("{n}");
  if (at != std::string::npos) out.replace(at, 3, n);
  return out;
}

class Builder {
 public:
  Builder(Loom& loom, std::vector<InstantiateFault>& faults) : loom_(loom), faults_(faults) {
    for (const Wire& wire : loom.wires) wired_.insert({wire.from.value, wire.to.value});
  }

  void part(PartIndex index) {
    index_ = index;
    part_ = &loom_.parts[index.value];
    kind_ = &loom_.kind_of(*part_);
    names_.clear();
    repeats_ = repeats();
    for (const PrimitiveRule& rule : kind_->inside) {
      if (!wanted(rule)) continue;
      const bool repeated = rule.name.find("{n}") != std::string::npos;
      if (!repeated) {
        primitive(rule, "");
        continue;
      }
      for (const std::string& n : repeats_) primitive(rule, n);
    }
    resolve_conditions();
  }

 private:
  // What {n} runs over here: only the taps and pins that the file uses, or the names of a list.
  std::vector<std::string> repeats() const {
    if (kind_->repeat.empty()) return {};
    const Scalar* scalar = part_->find(kind_->repeat);
    if (scalar == nullptr) return {};
    if (const auto* list = std::get_if<std::vector<std::string>>(&scalar->value)) return *list;
    const auto* count = std::get_if<Magnitude>(&scalar->value);
    if (count == nullptr) return {};
    std::set<int> used;
    for (const TerminalRule& rule : kind_->terminals) {
      const std::size_t hole = rule.name.find("{n}");
      if (hole == std::string::npos) continue;
      const std::string prefix = rule.name.substr(0, hole);
      for (TerminalIndex t : part_->terminals) {
        const std::string& name = loom_.terminal(t).name;
        if (!name.starts_with(prefix)) continue;
        int n = 0;
        const auto [end, fault] = std::from_chars(name.data() + prefix.size(), name.data() + name.size(), n);
        if (fault == std::errc() && end == name.data() + name.size() && n >= 0) used.insert(n);
      }
    }
    std::vector<std::string> out;
    for (int n : used) out.push_back(std::to_string(n));
    return out;
  }

  bool wanted(const PrimitiveRule& rule) const {
    return std::all_of(rule.only_if.begin(), rule.only_if.end(), [&](const auto& need) {
      const Scalar* scalar = part_->find(need.first);
      if (need.second == "given") return scalar != nullptr;
      if (need.second == "absent") return scalar == nullptr;
      if (scalar == nullptr) return false;
      if (const auto* flag = std::get_if<bool>(&scalar->value)) return need.second == (*flag ? "true" : "false");
      const auto* text = std::get_if<std::string>(&scalar->value);
      return text != nullptr && *text == need.second;
    });
  }

  std::optional<TerminalIndex> terminal(std::string_view name) {
    for (TerminalIndex t : part_->terminals) {
      if (loom_.terminal(t).name == name) return t;
    }
    // Terminals inside a part are made when a primitive first needs them.
    for (const TerminalRule& rule : kind_->terminals) {
      if (!rule.inside) continue;
      const std::size_t hole = rule.name.find("{n}");
      const bool fits = hole == std::string::npos
                            ? rule.name == name
                            : name.size() > hole && name.substr(0, hole) == std::string_view(rule.name).substr(0, hole);
      if (fits) return make_terminal(name);
    }
    return std::nullopt;
  }

  TerminalIndex make_terminal(std::string_view name) {
    const TerminalIndex made{loom_.terminals.size()};
    loom_.terminals.push_back({std::string(name), index_, true, true});
    loom_.parts[index_.value].terminals.push_back(made);
    return made;
  }

  struct Call {
    const PrimitiveRule& rule;
    const std::string& n;
    bool sound = true;
  };

  std::string argument(const Call& call, std::string_view key) const {
    const auto found = call.rule.arguments.find(key);
    return found == call.rule.arguments.end() ? std::string() : filled(found->second, call.n);
  }

  TerminalIndex end(Call& call, std::string_view key) {
    const std::string name = argument(call, key);
    if (const auto found = terminal(name)) return *found;
    call.sound = false;
    const bool left_out = std::any_of(kind_->terminals.begin(), kind_->terminals.end(), [&](const TerminalRule& t) {
      return t.on_mention && name.starts_with(t.name.substr(0, t.name.find("{n}")));
    });
    if (!left_out) {
      faults_.push_back({call.rule.at, fmt::format("primitive '{}' of kind '{}' needs the terminal '{}', which the "
                                                   "kind does not have",
                                                   call.rule.name, kind_->name, name)});
    }
    return {};
  }

  Datum datum(const Call& call, std::string_view key) const {
    const std::string text = argument(call, key);
    return text.empty() ? Datum{} : evaluate(text, *part_);
  }

  std::string word(const Call& call, std::string_view key) const {
    const std::string text = argument(call, key);
    if (const auto given = part_->text(text)) return *given;
    return part_->find(text) == nullptr && kind_->find_attribute(text) != nullptr ? std::string() : text;
  }

  bool truth(const Call& call, std::string_view key, bool otherwise) const {
    const std::string text = argument(call, key);
    if (text.empty()) return otherwise;
    if (const auto given = part_->flag(text)) return *given;
    return text == "true" ? true : text == "false" ? false : otherwise;
  }

  // Conditions name inputs, outputs and coils that may stand further down, so they are resolved at the part's end.
  template <class T>
  void later(std::vector<T>& list, Condition T::*slot, const Call& call) {
    const std::size_t at = list.size();
    const ConditionText* text = call.rule.when ? &*call.rule.when : nullptr;
    pending_.push_back([this, &list, slot, at, text, n = call.n] {
      if (text != nullptr) list[at].*slot = condition(*text, n);
    });
  }

  void resolve_conditions() {
    for (const auto& resolve : pending_) resolve();
    pending_.clear();
  }

  Condition condition(const ConditionText& text, const std::string& n) {
    using Op = ConditionText::Op;
    Condition out;
    switch (text.op) {
      case Op::always:
        return out;
      case Op::all:
      case Op::any:
      case Op::invert:
        out.op = text.op == Op::all   ? Condition::Op::all
                 : text.op == Op::any ? Condition::Op::any
                                      : Condition::Op::invert;
        for (const ConditionText& child : text.of) out.of.push_back(condition(child, n));
        return out;
      case Op::name: {
        const auto found = names_.find(text.words.at(0));
        if (found == names_.end()) {
          faults_.push_back({kind_->at, fmt::format("kind '{}' has no input, output or coil named '{}'", kind_->name,
                                                    text.words.at(0))});
          return out;
        }
        return found->second;
      }
      case Op::position:
        out.op = Condition::Op::position;
        for (const std::string& name : text.words) positions(filled(name, n), out.positions);
        return out;
      case Op::powered: {
        out.op = Condition::Op::powered;
        const auto pos = terminal(text.words.at(0));
        const auto neg = terminal(text.words.at(1));
        if (pos && neg) {
          out.pos = *pos;
          out.neg = *neg;
        }
        out.above_v = evaluate(text.words.at(2), *part_);
        return out;
      }
      case Op::wired: {
        const auto t = terminal(text.words.at(0));
        const bool wired = t && wired_.contains(t->value);
        // `always` and its inverse: the file decides once whether a wire lands there.
        if (wired) return out;
        out.op = Condition::Op::invert;
        out.of.push_back({});
        return out;
      }
    }
    return out;
  }

  void positions(const std::string& name, std::vector<int>& out) const {
    if (name == "first") {
      out.push_back(0);
      return;
    }
    std::vector<std::string> wanted{name};
    const Scalar* scalar = part_->find(name);
    if (scalar != nullptr) {
      if (const auto* list = std::get_if<std::vector<std::string>>(&scalar->value)) wanted = *list;
    }
    for (const std::string& position : wanted) {
      const auto at = std::find(part_->positions.begin(), part_->positions.end(), position);
      if (at != part_->positions.end()) out.push_back(static_cast<int>(at - part_->positions.begin()));
    }
  }

  void name_as(const std::string& name, Condition::Op op, std::size_t index) {
    Condition c;
    c.op = op;
    c.index = index;
    names_[name] = c;
  }

  void primitive(const PrimitiveRule& rule, const std::string& n);
  void source(Call call, const Element& base);
  void load(Call call, const Element& base);
  void input(Call call, const Element& base);
  void divider(Call call, const Element& base);
  void contact(Call call, const Element& base);

  Loom& loom_;
  std::vector<InstantiateFault>& faults_;
  std::set<std::size_t> wired_;
  PartIndex index_;
  Part* part_ = nullptr;
  const Kind* kind_ = nullptr;
  std::map<std::string, Condition, std::less<>> names_;
  std::vector<std::string> repeats_;
  std::vector<std::function<void()>> pending_;
};

Zone zone_named(std::string_view name) {
  if (name == "traction") return Zone::traction;
  if (name == "low-voltage") return Zone::low_voltage;
  if (name == "signal") return Zone::signal;
  return Zone::none;
}

void Builder::source(Call call, const Element& base) {
  Source whole;
  static_cast<Element&>(whole) = base;
  whole.pos = end(call, "pos");
  whole.neg = end(call, "neg");
  whole.full_v = datum(call, "full");
  whole.nominal_v = datum(call, "nominal");
  whole.empty_v = datum(call, "empty");
  whole.ohm = datum(call, "ohm");
  whole.limit_a = datum(call, "limit");
  whole.continuous_a = datum(call, "continuous");
  whole.peak_a = datum(call, "peak");
  whole.peak_s = datum(call, "peak_s");
  whole.charge_a = datum(call, "charge");
  whole.capacity_ah = datum(call, "capacity");
  whole.sinks = truth(call, "sinks", true);
  whole.zone = zone_named(word(call, "zone"));
  if (!call.sound) return;
  // A pack with used taps is a chain of sections, so that a short between two taps meets just the cells between them.
  const auto pattern = call.rule.arguments.find("taps");
  const std::optional<double> cells = part_->number(kind_->repeat);
  double below = 0;
  TerminalIndex neg = whole.neg;
  if (pattern != call.rule.arguments.end() && cells && *cells > 0) {
    for (const std::string& n : repeats_) {
      const double k = std::stod(n);
      const auto tap = terminal(filled(pattern->second, n));
      if (!tap) continue;
      if (k <= 0 || k >= *cells) {
        // The end taps are the pack's own terminals.
        Resistance joint;
        static_cast<Element&>(joint) = base;
        joint.a = *tap;
        joint.b = k <= 0 ? whole.neg : whole.pos;
        joint.ohm.value = 0;
        loom_.elements.resistances.push_back(joint);
        continue;
      }
      Source section = whole;
      section.neg = neg;
      section.pos = *tap;
      section.share = (k - below) / *cells;
      loom_.elements.sources.push_back(section);
      neg = *tap;
      below = k;
    }
  }
  whole.neg = neg;
  if (cells && *cells > 0) whole.share = (*cells - below) / *cells;
  later(loom_.elements.sources, &Source::when, call);
  loom_.elements.sources.push_back(whole);
}

void Builder::load(Call call, const Element& base) {
  Load out;
  static_cast<Element&>(out) = base;
  out.pos = end(call, "pos");
  out.neg = end(call, "neg");
  const std::string form = argument(call, "form");
  out.form = form == "power" ? Load::Form::power : form == "current" ? Load::Form::current : Load::Form::resistive;
  out.amount = datum(call, "amount");
  out.rated_v = datum(call, "rated");
  out.low_v = datum(call, "low");
  out.high_v = datum(call, "high");
  out.inrush = datum(call, "inrush");
  out.channel = argument(call, "channel");
  out.light = truth(call, "light", false);
  if (call.sound) loom_.elements.loads.push_back(out);
}

void Builder::input(Call call, const Element& base) {
  Input out;
  static_cast<Element&>(out) = base;
  out.terminal = end(call, "terminal");
  out.reference = end(call, "reference");
  out.active_high = word(call, "active") != "low";
  out.analogue = truth(call, "analogue", false);
  out.on_above_v = datum(call, "on_above");
  out.off_below_v = datum(call, "off_below");
  out.max_v = datum(call, "max");
  out.zero_v = datum(call, "zero");
  out.full_v = datum(call, "full");
  out.valid_low_v = datum(call, "valid_low");
  out.valid_high_v = datum(call, "valid_high");
  out.pull_ohm = datum(call, "pull");
  if (!argument(call, "pull_to").empty()) out.pull_to = end(call, "pull_to");
  if (!call.sound) return;
  name_as(base.name, Condition::Op::input, loom_.elements.inputs.size());
  loom_.elements.inputs.push_back(out);
}

void Builder::divider(Call call, const Element& base) {
  Divider out;
  static_cast<Element&>(out) = base;
  out.top = end(call, "top");
  out.tap = end(call, "tap");
  out.bottom = end(call, "bottom");
  out.ohm = datum(call, "ohm");
  const auto table = call.rule.tables.find("share");
  for (const std::string& position : part_->positions) {
    Datum share;
    if (table != call.rule.tables.end()) {
      const auto found = table->second.find(position);
      if (found != table->second.end()) share = evaluate(found->second, *part_);
    }
    out.share.push_back(share);
  }
  if (call.sound) loom_.elements.dividers.push_back(out);
}

void Builder::contact(Call call, const Element& base) {
  Contact out;
  static_cast<Element&>(out) = base;
  out.a = end(call, "a");
  out.b = end(call, "b");
  out.ohm = datum(call, "ohm");
  out.carries_a = datum(call, "carries");
  out.makes_a = datum(call, "makes");
  out.breaks_a = datum(call, "breaks");
  out.breaks_v = datum(call, "breaks_volts");
  out.volts_v = datum(call, "volts");
  out.peak_a = datum(call, "peak");
  out.peak_s = datum(call, "peak_s");
  out.after_s = datum(call, "after");
  out.within_v = datum(call, "within");
  out.opens_after_s = datum(call, "opens_after");
  if (const std::string key = argument(call, "polarised"); !key.empty()) out.polarised = part_->flag(key);
  out.operated = call.rule.when && call.rule.when->op != ConditionText::Op::always;
  if (!call.sound) return;
  later(loom_.elements.contacts, &Contact::closed_when, call);
  loom_.elements.contacts.push_back(out);
}

void Builder::primitive(const PrimitiveRule& rule, const std::string& n) {
  Call call{rule, n};
  Element base{index_, filled(rule.name, n)};
  Elements& all = loom_.elements;
  if (rule.type == "source") {
    source(call, base);
  } else if (rule.type == "load") {
    load(call, base);
  } else if (rule.type == "input") {
    input(call, base);
  } else if (rule.type == "divider") {
    divider(call, base);
  } else if (rule.type == "contact") {
    contact(call, base);
  } else if (rule.type == "converter") {
    Converter out;
    static_cast<Element&>(out) = base;
    out.in_pos = end(call, "in_pos");
    out.in_neg = end(call, "in_neg");
    out.out_pos = end(call, "out_pos");
    out.out_neg = end(call, "out_neg");
    out.low_v = datum(call, "low");
    out.high_v = datum(call, "high");
    out.volts_v = datum(call, "volts");
    out.limit_a = datum(call, "limit");
    out.efficiency = datum(call, "efficiency");
    out.idle_w = datum(call, "idle");
    if (!call.sound) return;
    later(all.converters, &Converter::when, call);
    all.converters.push_back(out);
  } else if (rule.type == "resistance") {
    Resistance out;
    static_cast<Element&>(out) = base;
    out.a = end(call, "a");
    out.b = end(call, "b");
    out.ohm = datum(call, "ohm");
    out.watts_w = datum(call, "watts");
    out.pulse_j = datum(call, "pulse");
    if (call.sound) all.resistances.push_back(out);
  } else if (rule.type == "capacitance") {
    Capacitance out;
    static_cast<Element&>(out) = base;
    out.a = end(call, "a");
    out.b = end(call, "b");
    out.farad = datum(call, "farad");
    if (call.sound) all.capacitances.push_back(out);
  } else if (rule.type == "diode") {
    Diode out;
    static_cast<Element&>(out) = base;
    out.anode = end(call, "anode");
    out.cathode = end(call, "cathode");
    out.forward_v = datum(call, "forward");
    out.ohm = datum(call, "ohm");
    out.carries_a = datum(call, "carries");
    out.blocks_v = datum(call, "blocks");
    if (call.sound) all.diodes.push_back(out);
  } else if (rule.type == "fuse") {
    Fuse out;
    static_cast<Element&>(out) = base;
    out.a = end(call, "a");
    out.b = end(call, "b");
    out.rated_a = datum(call, "rated");
    out.volts_v = datum(call, "volts");
    out.breaks_a = datum(call, "breaks");
    out.breaks_v = datum(call, "breaks_volts");
    out.ohm = datum(call, "ohm");
    out.curve = word(call, "curve");
    if (call.sound) all.fuses.push_back(out);
  } else if (rule.type == "coil") {
    Coil out;
    static_cast<Element&>(out) = base;
    out.a = end(call, "a");
    out.b = end(call, "b");
    out.volts_v = datum(call, "volts");
    out.ohm = datum(call, "ohm");
    out.pull_in_v = datum(call, "pull_in");
    out.drop_out_v = datum(call, "drop_out");
    out.suppression = word(call, "suppression");
    out.clamp_v = datum(call, "clamp");
    if (!call.sound) return;
    name_as(base.name, Condition::Op::coil, all.coils.size());
    all.coils.push_back(out);
  } else if (rule.type == "output") {
    Output out;
    static_cast<Element&>(out) = base;
    name_as(base.name, Condition::Op::output, all.outputs.size());
    later(all.outputs, &Output::when, call);
    all.outputs.push_back(out);
  } else if (rule.type == "lead") {
    Lead out;
    static_cast<Element&>(out) = base;
    out.terminal = end(call, "terminal");
    out.channel = argument(call, "channel");
    out.gives = argument(call, "end") != "takes";
    if (call.sound) all.leads.push_back(out);
  } else {
    faults_.push_back({rule.at, fmt::format("primitive type '{}' of kind '{}' is not known", rule.type, kind_->name)});
  }
}

}  // namespace

std::vector<InstantiateFault> instantiate(Loom& loom) {
  std::vector<InstantiateFault> faults;
  loom.elements = {};
  Builder builder(loom, faults);
  for (std::size_t i = 0; i < loom.parts.size(); ++i) builder.part(PartIndex{i});
  return faults;
}

}  // namespace loomproof
