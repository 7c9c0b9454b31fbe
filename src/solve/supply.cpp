// The supplies of a loom as their two outer poles.
#include "solve/supply.h"

#include <algorithm>

namespace loomproof {

std::vector<SupplyPoles> supply_poles(const Circuit& circuit) {
  const Elements& all = circuit.loom->elements;
  std::vector<SupplyPoles> out;
  const Source* before = nullptr;
  for (const Source& s : all.sources) {
    const double full_v = s.full_v ? *s.full_v * s.share : 0;
    // Sections of one source follow one another from its negative upwards.
    if (before != nullptr && before->part == s.part && before->name == s.name && before->pos == s.neg) {
      out.back().pos = circuit.node(s.pos);
      out.back().full_v += full_v;
    } else {
      out.push_back({s.part, circuit.node(s.pos), circuit.node(s.neg), full_v});
    }
    before = &s;
  }
  for (const Converter& c : all.converters) {
    out.push_back({c.part, circuit.node(c.out_pos), circuit.node(c.out_neg), c.volts_v ? *c.volts_v : 0});
  }
  return out;
}

double traction_full_v(const Circuit& circuit) {
  double most = 0;
  const auto& sources = circuit.loom->elements.sources;
  for (const SupplyPoles& s : supply_poles(circuit)) {
    const bool traction = std::any_of(sources.begin(), sources.end(),
                                      [&](const Source& x) { return x.part == s.part && x.zone == Zone::traction; });
    if (traction) most = std::max(most, s.full_v);
  }
  return most;
}

std::vector<TerminalIndex> poles_of(const Loom& loom) {
  std::vector<TerminalIndex> out;
  const auto both = [&](TerminalIndex pos, TerminalIndex neg) { out.insert(out.end(), {pos, neg}); };
  for (const Load& load : loom.elements.loads) {
    if (!load.channel.empty()) both(load.pos, load.neg);
  }
  for (const Source& s : loom.elements.sources) both(s.pos, s.neg);
  for (const Converter& c : loom.elements.converters) {
    both(c.in_pos, c.in_neg);
    both(c.out_pos, c.out_neg);
  }
  for (const Part& part : loom.parts) {
    if (loom.kind_of(part).is_frame && !part.terminals.empty()) out.push_back(part.terminals.front());
  }
  return out;
}

}  // namespace loomproof
