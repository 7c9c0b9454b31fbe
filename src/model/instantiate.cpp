// From kinds and parts to the primitives between terminals: what the network and the rules work on.
#include <fmt/format.h>

#include "model/expression.h"
#include "model/loom.h"
#include "model/part_reader.h"

namespace loomproof {
namespace {

Zone zone_named(std::string_view name) {
  if (name == "traction") return Zone::traction;
  if (name == "low-voltage") return Zone::low_voltage;
  if (name == "signal") return Zone::signal;
  return Zone::none;
}

void add_source(PartReader& part, PrimitiveCall call, const Element& base, Elements& all) {
  Source whole;
  static_cast<Element&>(whole) = base;
  whole.pos = part.end(call, "pos");
  whole.neg = part.end(call, "neg");
  whole.full_v = part.datum(call, "full");
  whole.nominal_v = part.datum(call, "nominal");
  whole.empty_v = part.datum(call, "empty");
  whole.ohm = part.datum(call, "ohm");
  whole.limit_a = part.datum(call, "limit");
  whole.continuous_a = part.datum(call, "continuous");
  whole.peak_a = part.datum(call, "peak");
  whole.peak_s = part.datum(call, "peak_s");
  whole.charge_a = part.datum(call, "charge");
  whole.capacity_ah = part.datum(call, "capacity");
  whole.sinks = part.truth(call, "sinks", true);
  whole.zone = zone_named(part.word(call, "zone"));
  if (!call.sound) return;
  // A pack with used taps is a chain of sections, so that a short between two taps meets just the cells between them.
  const auto pattern = call.rule.arguments.find("taps");
  const std::optional<double> cells = part.part().number(part.kind().repeat);
  double below = 0;
  TerminalIndex neg = whole.neg;
  if (pattern != call.rule.arguments.end() && cells && *cells > 0) {
    for (const std::string& n : part.repeats()) {
      const double k = std::stod(n);
      const auto tap = part.terminal(filled(pattern->second, n));
      if (!tap) continue;
      if (k <= 0 || k >= *cells) {
        // The end taps are the pack's own terminals.
        Resistance joint;
        static_cast<Element&>(joint) = base;
        joint.a = *tap;
        joint.b = k <= 0 ? whole.neg : whole.pos;
        joint.ohm.value = 0;
        all.resistances.push_back(joint);
        continue;
      }
      Source section = whole;
      section.neg = neg;
      section.pos = *tap;
      section.share = (k - below) / *cells;
      all.sources.push_back(section);
      neg = *tap;
      below = k;
    }
  }
  whole.neg = neg;
  if (cells && *cells > 0) whole.share = (*cells - below) / *cells;
  part.later(all.sources, &Source::when, call);
  all.sources.push_back(whole);
}

void add_load(PartReader& part, PrimitiveCall call, const Element& base, Elements& all) {
  Load out;
  static_cast<Element&>(out) = base;
  out.pos = part.end(call, "pos");
  out.neg = part.end(call, "neg");
  const std::string form = part.argument(call, "form");
  out.form = form == "power" ? Load::Form::power : form == "current" ? Load::Form::current : Load::Form::resistive;
  out.amount = part.datum(call, "amount");
  out.rated_v = part.datum(call, "rated");
  out.low_v = part.datum(call, "low");
  out.high_v = part.datum(call, "high");
  out.inrush = part.datum(call, "inrush");
  out.channel = part.argument(call, "channel");
  out.light = part.truth(call, "light", false);
  if (call.sound) all.loads.push_back(out);
}

void add_input(PartReader& part, PrimitiveCall call, const Element& base, Elements& all) {
  Input out;
  static_cast<Element&>(out) = base;
  out.terminal = part.end(call, "terminal");
  out.reference = part.end(call, "reference");
  out.active_high = part.word(call, "active") != "low";
  out.analogue = part.truth(call, "analogue", false);
  out.on_above_v = part.datum(call, "on_above");
  out.off_below_v = part.datum(call, "off_below");
  out.max_v = part.datum(call, "max");
  out.zero_v = part.datum(call, "zero");
  out.full_v = part.datum(call, "full");
  out.valid_low_v = part.datum(call, "valid_low");
  out.valid_high_v = part.datum(call, "valid_high");
  out.pull_ohm = part.datum(call, "pull");
  if (!part.argument(call, "pull_to").empty()) out.pull_to = part.end(call, "pull_to");
  if (!call.sound) return;
  part.name_as(base.name, Condition::Op::input, all.inputs.size());
  all.inputs.push_back(out);
}

void add_divider(PartReader& part, PrimitiveCall call, const Element& base, Elements& all) {
  Divider out;
  static_cast<Element&>(out) = base;
  out.top = part.end(call, "top");
  out.tap = part.end(call, "tap");
  out.bottom = part.end(call, "bottom");
  out.ohm = part.datum(call, "ohm");
  const auto table = call.rule.tables.find("share");
  for (const std::string& position : part.part().positions) {
    Datum share;
    if (table != call.rule.tables.end()) {
      const auto found = table->second.find(position);
      if (found != table->second.end()) share = evaluate(found->second, part.part());
    }
    out.share.push_back(share);
  }
  if (call.sound) all.dividers.push_back(out);
}

void add_contact(PartReader& part, PrimitiveCall call, const Element& base, Elements& all) {
  Contact out;
  static_cast<Element&>(out) = base;
  out.a = part.end(call, "a");
  out.b = part.end(call, "b");
  out.ohm = part.datum(call, "ohm");
  out.carries_a = part.datum(call, "carries");
  out.makes_a = part.datum(call, "makes");
  out.breaks_a = part.datum(call, "breaks");
  out.breaks_v = part.datum(call, "breaks_volts");
  out.volts_v = part.datum(call, "volts");
  out.peak_a = part.datum(call, "peak");
  out.peak_s = part.datum(call, "peak_s");
  out.after_s = part.datum(call, "after");
  out.within_v = part.datum(call, "within");
  out.opens_after_s = part.datum(call, "opens_after");
  if (const std::string key = part.argument(call, "polarised"); !key.empty()) out.polarised = part.part().flag(key);
  out.operated = call.rule.when && call.rule.when->op != ConditionText::Op::always;
  if (!call.sound) return;
  part.later(all.contacts, &Contact::closed_when, call);
  all.contacts.push_back(out);
}

// False when the type is not known.
bool add_primitive(PartReader& part, const PrimitiveRule& rule, const std::string& n, Elements& all) {
  PrimitiveCall call{rule, n};
  const Element base{part.index(), filled(rule.name, n)};
  if (rule.type == "source") {
    add_source(part, call, base, all);
  } else if (rule.type == "load") {
    add_load(part, call, base, all);
  } else if (rule.type == "input") {
    add_input(part, call, base, all);
  } else if (rule.type == "divider") {
    add_divider(part, call, base, all);
  } else if (rule.type == "contact") {
    add_contact(part, call, base, all);
  } else if (rule.type == "converter") {
    Converter out;
    static_cast<Element&>(out) = base;
    out.in_pos = part.end(call, "in_pos");
    out.in_neg = part.end(call, "in_neg");
    out.out_pos = part.end(call, "out_pos");
    out.out_neg = part.end(call, "out_neg");
    out.low_v = part.datum(call, "low");
    out.high_v = part.datum(call, "high");
    out.volts_v = part.datum(call, "volts");
    out.limit_a = part.datum(call, "limit");
    out.efficiency = part.datum(call, "efficiency");
    out.idle_w = part.datum(call, "idle");
    if (!call.sound) return true;
    part.later(all.converters, &Converter::when, call);
    all.converters.push_back(out);
  } else if (rule.type == "resistance") {
    Resistance out;
    static_cast<Element&>(out) = base;
    out.a = part.end(call, "a");
    out.b = part.end(call, "b");
    out.ohm = part.datum(call, "ohm");
    out.watts_w = part.datum(call, "watts");
    out.pulse_j = part.datum(call, "pulse");
    if (call.sound) all.resistances.push_back(out);
  } else if (rule.type == "capacitance") {
    Capacitance out;
    static_cast<Element&>(out) = base;
    out.a = part.end(call, "a");
    out.b = part.end(call, "b");
    out.farad = part.datum(call, "farad");
    if (call.sound) all.capacitances.push_back(out);
  } else if (rule.type == "diode") {
    Diode out;
    static_cast<Element&>(out) = base;
    out.anode = part.end(call, "anode");
    out.cathode = part.end(call, "cathode");
    out.forward_v = part.datum(call, "forward");
    out.ohm = part.datum(call, "ohm");
    out.carries_a = part.datum(call, "carries");
    out.blocks_v = part.datum(call, "blocks");
    if (call.sound) all.diodes.push_back(out);
  } else if (rule.type == "fuse") {
    Fuse out;
    static_cast<Element&>(out) = base;
    out.a = part.end(call, "a");
    out.b = part.end(call, "b");
    out.rated_a = part.datum(call, "rated");
    out.volts_v = part.datum(call, "volts");
    out.breaks_a = part.datum(call, "breaks");
    out.breaks_v = part.datum(call, "breaks_volts");
    out.ohm = part.datum(call, "ohm");
    out.curve = part.word(call, "curve");
    if (call.sound) all.fuses.push_back(out);
  } else if (rule.type == "coil") {
    Coil out;
    static_cast<Element&>(out) = base;
    out.a = part.end(call, "a");
    out.b = part.end(call, "b");
    out.volts_v = part.datum(call, "volts");
    out.ohm = part.datum(call, "ohm");
    out.pull_in_v = part.datum(call, "pull_in");
    out.drop_out_v = part.datum(call, "drop_out");
    out.suppression = part.word(call, "suppression");
    out.clamp_v = part.datum(call, "clamp");
    if (!call.sound) return true;
    part.name_as(base.name, Condition::Op::coil, all.coils.size());
    all.coils.push_back(out);
  } else if (rule.type == "output") {
    Output out;
    static_cast<Element&>(out) = base;
    part.name_as(base.name, Condition::Op::output, all.outputs.size());
    part.later(all.outputs, &Output::when, call);
    all.outputs.push_back(out);
  } else if (rule.type == "lead") {
    Lead out;
    static_cast<Element&>(out) = base;
    out.terminal = part.end(call, "terminal");
    out.channel = part.argument(call, "channel");
    out.gives = part.argument(call, "end") != "takes";
    if (call.sound) all.leads.push_back(out);
  } else {
    return false;
  }
  return true;
}

}  // namespace

std::vector<InstantiateFault> instantiate(Loom& loom) {
  std::vector<InstantiateFault> faults;
  loom.elements = {};
  PartReader part(loom, faults);
  const std::vector<std::string> once{""};
  for (std::size_t i = 0; i < loom.parts.size(); ++i) {
    part.start(PartIndex{i});
    for (const PrimitiveRule& rule : part.kind().inside) {
      if (!part.wanted(rule)) continue;
      const bool repeated = rule.name.find("{n}") != std::string::npos;
      for (const std::string& n : repeated ? part.repeats() : once) {
        if (!add_primitive(part, rule, n, loom.elements)) {
          faults.push_back(
              {rule.at, fmt::format("primitive type '{}' of kind '{}' is not known", rule.type, part.kind().name)});
        }
      }
    }
    part.resolve_conditions();
  }
  return faults;
}

}  // namespace loomproof
