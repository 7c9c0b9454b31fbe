// The law of every primitive once more, written from the loom's data alone: what the tests sum at a node and what they
// hand to ngspice. Nothing here calls the network.
#pragma once

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "solve/circuit.h"
#include "solve/operating_point.h"
#include "units/conductor.h"

namespace loomproof::laws {

/// One two-terminal element with its law; current runs from a to b inside the element.
struct Law {
  enum class Kind {
    ohmic,      // i = v / ohm
    diode,      // i = max(0, v - volts) / ohm
    source,     // pushes min(limit, (volts - v) / ohm) out of a; never takes current back unless it sinks
    current,    // i = amps; below live_v the resistance live_v / amps, and nothing at all when amps is negative
    power,      // i = watts / v; below live_v the resistance live_v^2 / watts
    converter,  // power, with watts = idle + |watts given by `fed`| / efficiency
  } kind = Kind::ohmic;
  int a = 0;
  int b = 0;
  double ohm = 0, volts = 0, limit = 0, amount = 0, live_v = 0, efficiency = 1;
  bool limited = false, sinks = true;
  std::size_t fed = 0;  // index of the law of the converter's output
  std::string name;
};

inline double number_or(const Datum& datum, double otherwise) {
  return datum ? *datum : otherwise;
}

inline double duty_amps(const Loom& loom, const OperatingPoint& point, PartIndex part, const std::string& channel,
                        double otherwise) {
  if (!point.situation.duty || channel.empty()) return otherwise;
  for (const ChannelCurrent& c : loom.duty[point.situation.duty->value].currents) {
    if (c.part == part && c.channel == channel) return c.amps.value;
  }
  return otherwise;
}

/// Lowest voltage at which a load with a regulator of its own works, as network.h promises.
inline double live_v_of(const Load& load) {
  if (!load.channel.empty()) return 1;
  if (load.low_v) return *load.low_v;
  return load.rated_v ? 0.5 * *load.rated_v : 1;
}

/// Everything that conducts in `point`, from its positions, charge and duty and the contacts of its settled logic.
inline std::vector<Law> laws_of(const Circuit& circuit, const OperatingPoint& point) {
  const Loom& loom = *circuit.loom;
  const Elements& all = loom.elements;
  std::vector<Law> out;
  const auto ohmic = [&](TerminalIndex a, TerminalIndex b, double ohm, const std::string& name) {
    Law law;
    law.a = circuit.node(a);
    law.b = circuit.node(b);
    law.ohm = std::max(ohm, 1e-6);
    law.name = name;
    out.push_back(law);
  };
  const auto named = [&](const Element& e) { return loom.part(e.part).name + "." + e.name; };
  for (const Wire& w : loom.wires) {
    const double ohm = w.size && w.length ? copper_ohm_per_metre(w.size->value, network_copper_temperature(loom, w)) *
                                                w.length->value.value
                                          : 1e-3;
    ohmic(w.from, w.to, ohm, w.name);
  }
  for (const Resistance& r : all.resistances) {
    if (r.ohm && *r.ohm > 0) ohmic(r.a, r.b, *r.ohm, named(r));
  }
  for (const Divider& d : all.dividers) {
    if (!d.ohm) continue;
    const double share = number_or(d.share[point.situation.positions[d.part.value]], 0);
    ohmic(d.top, d.tap, *d.ohm * std::clamp(1 - share, 1e-3, 1 - 1e-3), named(d) + " above");
    ohmic(d.tap, d.bottom, *d.ohm * std::clamp(share, 1e-3, 1 - 1e-3), named(d) + " below");
  }
  for (const Fuse& f : all.fuses) ohmic(f.a, f.b, number_or(f.ohm, 1e-3), named(f));
  for (std::size_t i = 0; i < all.contacts.size(); ++i) {
    if (point.logic.contact_closed[i] != 0)
      ohmic(all.contacts[i].a, all.contacts[i].b, number_or(all.contacts[i].ohm, 1e-3), named(all.contacts[i]));
  }
  for (const Coil& c : all.coils) {
    if (c.ohm) ohmic(c.a, c.b, *c.ohm, named(c));
  }
  for (const Input& i : all.inputs) {
    if (i.pull_to && i.pull_ohm) ohmic(i.terminal, *i.pull_to, *i.pull_ohm, named(i) + " pull");
  }
  for (const Diode& d : all.diodes) {
    Law law;
    law.kind = Law::Kind::diode;
    law.a = circuit.node(d.anode);
    law.b = circuit.node(d.cathode);
    law.ohm = number_or(d.ohm, 0.01);
    law.volts = number_or(d.forward_v, 0.7);
    law.name = named(d);
    out.push_back(law);
  }
  for (const Load& l : all.loads) {
    if (l.form == Load::Form::resistive) {
      if (l.amount) ohmic(l.pos, l.neg, *l.amount, named(l));
      continue;
    }
    Law law;
    law.kind = l.form == Load::Form::power ? Law::Kind::power : Law::Kind::current;
    law.a = circuit.node(l.pos);
    law.b = circuit.node(l.neg);
    law.amount = duty_amps(loom, point, l.part, l.channel, number_or(l.amount, 0));
    law.live_v = live_v_of(l);
    law.name = named(l);
    out.push_back(law);
  }
  for (std::size_t i = 0; i < all.sources.size(); ++i) {
    if (point.logic.source_on[i] == 0) continue;
    const Source& s = all.sources[i];
    const Datum& volts = point.situation.charge == Charge::full      ? s.full_v
                         : point.situation.charge == Charge::nominal ? s.nominal_v
                                                                     : s.empty_v;
    Law law;
    law.kind = Law::Kind::source;
    law.a = circuit.node(s.pos);
    law.b = circuit.node(s.neg);
    law.volts = number_or(volts, 0) * s.share;
    law.ohm = std::max(number_or(s.ohm, 1e-3), 1e-6) * s.share;
    law.limited = s.limit_a.value.has_value();
    law.limit = number_or(s.limit_a, 0);
    law.sinks = s.sinks;
    law.name = named(s);
    if (law.volts > 0) out.push_back(law);
  }
  for (std::size_t i = 0; i < all.converters.size(); ++i) {
    if (point.logic.converter_on[i] == 0) continue;
    const Converter& c = all.converters[i];
    Law given;
    given.kind = Law::Kind::source;
    given.a = circuit.node(c.out_pos);
    given.b = circuit.node(c.out_neg);
    given.volts = number_or(c.volts_v, 0);
    given.ohm = 5e-3;
    given.limited = c.limit_a.value.has_value();
    given.limit = number_or(c.limit_a, 0);
    given.sinks = false;
    given.name = named(c) + " out";
    Law drawn;
    drawn.kind = Law::Kind::converter;
    drawn.a = circuit.node(c.in_pos);
    drawn.b = circuit.node(c.in_neg);
    drawn.amount = number_or(c.idle_w, 0);
    drawn.efficiency = number_or(c.efficiency, 1);
    drawn.live_v = c.low_v ? std::max(0.5 * *c.low_v, 1.0) : 1.0;
    drawn.name = named(c) + " in";
    drawn.fed = out.size();
    out.push_back(given);
    out.push_back(drawn);
  }
  return out;
}

/// Current from a to b inside the element when its ends stand at the point's voltages.
inline double current_of(const std::vector<Law>& laws, const Law& law, const std::vector<double>& node_v) {
  const double v = node_v[law.a] - node_v[law.b];
  const auto starved_or = [&](double watts_or_amps_at_live, double working) {
    return v < law.live_v ? std::max(watts_or_amps_at_live, 0.0) / law.live_v * v : working;
  };
  switch (law.kind) {
    case Law::Kind::ohmic:
      return v / law.ohm;
    case Law::Kind::diode:
      return std::max(0.0, v - law.volts) / law.ohm;
    case Law::Kind::source: {
      double out = (law.volts - v) / law.ohm;
      if (law.limited) out = std::min(out, law.limit);
      if (!law.sinks) out = std::max(out, 0.0);
      return -out;
    }
    case Law::Kind::current:
      return starved_or(law.amount, law.amount);
    case Law::Kind::power:
      return starved_or(law.amount / law.live_v, law.amount / v);
    case Law::Kind::converter: {
      const Law& given = laws[law.fed];
      const double out_v = node_v[given.a] - node_v[given.b];
      const double watts = law.amount + std::max(0.0, -out_v * current_of(laws, given, node_v)) / law.efficiency;
      return starved_or(watts / law.live_v, watts / v);
    }
  }
  return 0;
}

/// Currents of a duty channel outside the direct-current network (motor phases), as {from, to, amps}.
struct Phase {
  int from = 0;
  int to = 0;
  double amps = 0;
};
inline std::vector<Phase> phases_of(const Circuit& circuit, const OperatingPoint& point) {
  std::vector<Phase> out;
  for (std::size_t p = 0; p < circuit.lead_pairs.size(); ++p) {
    const LeadPair& pair = circuit.lead_pairs[p];
    if (!takes_current(circuit, point, p)) continue;
    const Lead& lead = circuit.loom->elements.leads[pair.lead];
    out.push_back({pair.from, pair.to, duty_amps(*circuit.loom, point, pair.part, lead.channel, 0)});
  }
  return out;
}

/// Largest sum of currents at any node, in A: Kirchhoff's current law from the voltages alone.
inline double largest_residual_a(const Circuit& circuit, const OperatingPoint& point) {
  std::vector<double> sum(static_cast<std::size_t>(circuit.nodes), 0.0);
  const std::vector<Law> laws = laws_of(circuit, point);
  for (const Law& law : laws) {
    const double i = current_of(laws, law, point.node_v);
    sum[law.a] += i;
    sum[law.b] -= i;
  }
  for (const Phase& phase : phases_of(circuit, point)) {
    sum[phase.from] -= phase.amps;
    sum[phase.to] += phase.amps;
  }
  double largest = 0;
  for (double s : sum) largest = std::max(largest, std::fabs(s));
  return largest;
}

}  // namespace loomproof::laws
