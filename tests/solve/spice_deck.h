// A settled situation as an ngspice deck: every element by its own law, contacts as the settled logic left them.
#pragma once

#include <fmt/core.h>

#include <string>
#include <vector>

#include "element_laws.h"

namespace loomproof::laws {

inline std::string node_name(int node) {
  return fmt::format("n{}", node);
}

inline std::string across(const Law& law) {
  return fmt::format("v({},{})", node_name(law.a), node_name(law.b));
}

/// Current that a source pushes out of its positive pole.
inline std::string given_amps(const Law& law) {
  std::string out = fmt::format("({:.12g}-{})/{:.12g}", law.volts, across(law), law.ohm);
  if (law.limited) out = fmt::format("min({:.12g},{})", law.limit, out);
  if (!law.sinks) out = fmt::format("max(0,{})", out);
  return out;
}

/// `working` from live_v upwards, below it the straight line that meets it there; nothing where it would be negative.
inline std::string regulated(const Law& law, const std::string& at_live, const std::string& working) {
  return fmt::format("({0} < {1:.12g}) ? (max(0,{2})/{1:.12g}*{0}) : ({3})", across(law), law.live_v, at_live, working);
}

inline constexpr double guess_share = 0.998;

/// Lines of one element; `i` makes its name unique.
inline std::string lines_of(const std::vector<Law>& laws, std::size_t i) {
  const Law& law = laws[i];
  const std::string a = node_name(law.a), b = node_name(law.b);
  switch (law.kind) {
    case Law::Kind::ohmic:
      return law.a == law.b ? "" : fmt::format("R{} {} {} {:.12g}\n", i, a, b, law.ohm);
    case Law::Kind::diode:
      return fmt::format("B{} {} {} I=max(0,{}-{:.12g})/{:.12g}\n", i, a, b, across(law), law.volts, law.ohm);
    case Law::Kind::source:
      // A plain battery needs no expression: a voltage source behind its resistance.
      if (!law.limited && law.sinks)
        return fmt::format("V{0} m{0} {1} {2:.12g}\nR{0} {3} m{0} {4:.12g}\n", i, b, law.volts, a, law.ohm);
      // Unloaded it would stand on the very corner of its law; 10 Mohm keep ngspice on one side of it.
      return fmt::format("B{0} {1} {2} I={3}\nRbleed{0} {2} {1} 10meg\n", i, b, a, given_amps(law));
    case Law::Kind::current: {
      const std::string amps = fmt::format("{:.12g}", law.amount);
      return fmt::format("B{} {} {} I={}\n", i, a, b, regulated(law, amps, amps));
    }
    case Law::Kind::power:
      return fmt::format("B{} {} {} I={}\n", i, a, b,
                         regulated(law, fmt::format("{:.12g}", law.amount / law.live_v),
                                   fmt::format("{:.12g}/{}", law.amount, across(law))));
    case Law::Kind::converter: {
      const Law& given = laws[law.fed];
      const std::string watts =
          fmt::format("({:.12g}+max(0,{}*({}))/{:.12g})", law.amount, across(given), given_amps(given), law.efficiency);
      return fmt::format("B{} {} {} I={}\n", i, a, b,
                         regulated(law, fmt::format("{}/{:.12g}", watts, law.live_v), watts + "/" + across(law)));
    }
  }
  return "";
}

/// The whole deck. One node of every piece is tied to ngspice's 0 through 1 ohm, which carries nothing.
inline std::string deck_of(const Circuit& circuit, const OperatingPoint& point) {
  std::string deck = ".options reltol=1e-7 vntol=1e-8 abstol=1e-10 gmin=1e-15 itl1=2000\n";
  const std::vector<Law> laws = laws_of(circuit, point);
  for (std::size_t i = 0; i < laws.size(); ++i) deck += lines_of(laws, i);
  const std::vector<Phase> phases = phases_of(circuit, point);
  for (std::size_t i = 0; i < phases.size(); ++i) {
    deck +=
        fmt::format("Iphase{} {} {} {:.12g}\n", i, node_name(phases[i].to), node_name(phases[i].from), phases[i].amps);
  }
  for (int n = 0; n < circuit.nodes; ++n) {
    if (point.piece[n] == n) deck += fmt::format("Rground{} {} 0 1\n", n, node_name(n));
  }
  // A limited source beside regulated loads has no slope at 0 V, where ngspice starts by itself and finds its matrix
  // singular. The guess is off by 0.2 %, so that taking it for the answer would show.
  for (int n = 0; n < circuit.nodes; ++n) {
    deck += fmt::format(".nodeset v({})={:.12g}\n", node_name(n), guess_share * point.node_v[n]);
  }
  return deck;
}

}  // namespace loomproof::laws
