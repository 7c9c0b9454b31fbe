// What a line of the circuit can do at most.
#include "solve/line_limits.h"

#include <algorithm>

#include "solve/branch_laws.h"
#include "solve/infinite.h"
#include "solve/settling_limits.h"

namespace loomproof {
namespace {

double open_v(const Source& s) {
  double most = 0;
  for (const Datum* d : {&s.full_v, &s.nominal_v, &s.empty_v}) most = std::max(most, d->value.value_or(0) * s.share);
  return most;
}

}  // namespace

double lift_v(const Circuit& circuit, const FaultLines& lines, std::size_t line) {
  if (!lines.is_branch(line)) return 0;
  const Elements& all = circuit.loom->elements;
  const Branch& b = circuit.branches[line];
  switch (b.type) {
    case BranchType::source:
      return open_v(all.sources[b.index]);
    case BranchType::converter_out:
      return all.converters[b.index].volts_v.value.value_or(0);
    case BranchType::diode:  // one that leads nowhere stands at its forward voltage
      return all.diodes[b.index].forward_v.value.value_or(unknown_forward_v);
    case BranchType::load:
      return all.loads[b.index].amount.value.value_or(0) < 0 ? infinite : 0;
    default:
      return 0;
  }
}

double gives_a(const Circuit& circuit, const FaultLines& lines, std::size_t line) {
  const Elements& all = circuit.loom->elements;
  const Branch& b = circuit.branches[line];
  const double short_a = lift_v(circuit, lines, line) / b.ohm;
  switch (b.type) {
    case BranchType::source:
      return std::min(all.sources[b.index].limit_a.value.value_or(infinite), short_a);
    case BranchType::converter_out:
      return std::min(all.converters[b.index].limit_a.value.value_or(infinite), short_a);
    case BranchType::diode:
      return 0;
    default:
      return infinite;
  }
}

double passes_a(const Circuit& circuit, const FaultLines& lines, std::size_t line, double lifts_v, bool fuses_open) {
  const double by_ohm = lifts_v / lines.all[line].ohm;
  if (!lines.is_branch(line)) return by_ohm;
  const Elements& all = circuit.loom->elements;
  const Branch& b = circuit.branches[line];
  switch (b.type) {
    case BranchType::source:
      return all.sources[b.index].sinks ? by_ohm : gives_a(circuit, lines, line);
    case BranchType::converter_out:
      return gives_a(circuit, lines, line);
    case BranchType::converter_in: {
      const Converter& c = all.converters[b.index];
      if (!c.limit_a) return infinite;
      const double out_w = c.volts_v.value.value_or(0) * *c.limit_a;
      const double efficiency = c.efficiency && *c.efficiency > 0 ? *c.efficiency : 1;
      return (c.idle_w.value.value_or(0) + out_w / efficiency) / in_live_v(c);
    }
    case BranchType::load: {
      const Load& load = all.loads[b.index];
      if (load.form == Load::Form::resistive) return by_ohm;
      const double amount = load.amount.value.value_or(0);
      if (amount < 0) return infinite;
      return load.form == Load::Form::power ? amount / live_v(load) : amount;
    }
    case BranchType::divider_upper:
    case BranchType::divider_lower:
      return by_ohm / least_divider_share;
    case BranchType::fuse: {
      const Datum& rated_a = all.fuses[b.index].rated_a;
      return fuses_open && rated_a ? std::min(by_ohm, fuse_opens_at * *rated_a) : by_ohm;
    }
    default:
      return by_ohm;
  }
}

}  // namespace loomproof
