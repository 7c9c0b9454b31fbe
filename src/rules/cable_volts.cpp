// cable-volts: every wire's insulation is rated for the voltage that it meets.
//
// Vehicle cable is 60 V d.c. cable unless it says otherwise: ISO 6722-1, SAE J1127 and J1128
// (tests/reference/insulation_voltage.csv). docs/rules/cable-volts.md
#include <algorithm>
#include <cmath>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/insulation.h"
#include "units/print.h"

namespace loomproof {
namespace {

// Motor leads are switched between the poles of the bus, so they meet the bus voltage of the part that drives them.
std::vector<Extreme> by_piece_of_leads(const Solved& solved, const std::vector<int>& piece) {
  const Elements& all = solved.loom->elements;
  std::vector<Extreme> most(solved.circuit.nodes);
  for (const Lead& lead : all.leads) {
    if (!lead.gives) continue;
    for (std::size_t i = 0; i < all.loads.size(); ++i) {
      if (all.loads[i].part != lead.part || all.loads[i].channel.empty()) continue;
      const Extreme& bus = solved.extremes.load_high_v[i];
      Extreme& slot = most[piece[solved.circuit.node(lead.terminal)]];
      if (bus && (!slot || bus.value > slot.value)) slot = bus;
    }
  }
  return most;
}

// Highest voltage of every node against its own circuit. Where a bond ties the traction circuit to the 12 V side, a
// 12 V wire does not need traction cable: the bond is the fault, and traction-on-frame has it.
std::vector<Extreme> against_own_circuit(const Solved& solved) {
  const Circuit& circuit = solved.circuit;
  std::vector<char> is_traction(circuit.nodes, 0);
  for (std::size_t t = 0; t < solved.zone.size(); ++t) {
    if (solved.zone[t] == Zone::traction) is_traction[circuit.node_of[t]] = 1;
  }
  const auto nodes = static_cast<std::size_t>(circuit.nodes);
  std::vector<Extreme> out(nodes);
  // By piece: without the traction circuit, and that alone; then all of it.
  struct Span {
    double low = INFINITY, high = -INFINITY;
  };
  std::vector<Span> rest(nodes), traction(nodes);
  for (std::size_t p = 0; p < solved.points.size(); ++p) {
    const OperatingPoint& point = solved.points[p];
    std::fill(rest.begin(), rest.end(), Span{});
    std::fill(traction.begin(), traction.end(), Span{});
    for (std::size_t n = 0; n < nodes; ++n) {
      Span& span = (is_traction[n] != 0 ? traction : rest)[point.piece[n]];
      span = {std::min(span.low, point.node_v[n]), std::max(span.high, point.node_v[n])};
    }
    for (std::size_t n = 0; n < nodes; ++n)
      traction[n] = {std::min(rest[n].low, traction[n].low), std::max(rest[n].high, traction[n].high)};
    for (std::size_t n = 0; n < nodes; ++n) {
      const Span& span = (is_traction[n] != 0 ? traction : rest)[point.piece[n]];
      const double v = std::max(span.high - point.node_v[n], point.node_v[n] - span.low);
      if (!out[n] || v > out[n].value) out[n] = {v, p};
    }
  }
  return out;
}

void judge_cable_volts(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const std::vector<int> piece =
      components(solved.graph, solved.circuit, [&](const Branch& b) { return is_conductor(solved.circuit, b); });
  const std::vector<Extreme> leads = by_piece_of_leads(solved, piece);
  const std::vector<Extreme> met = against_own_circuit(solved);
  for (std::size_t w = 0; w < loom.wires.size(); ++w) {
    const Wire& wire = loom.wires[w];
    Obligation& owed = ledger.open(rule, subject_of(loom, WireIndex{w}));
    const Extreme& a = met[solved.circuit.node(wire.from)];
    const Extreme& b = met[solved.circuit.node(wire.to)];
    const Extreme& lead = leads[piece[solved.circuit.node(wire.from)]];
    const Extreme& most = std::max({a, b, lead}, [](const Extreme& x, const Extreme& y) { return x.value < y.value; });
    const Volt rated = wire.volts ? wire.volts->value : assumed_cable_volts;
    const Figure figure{show(Volt(most.value)), show(rated), used_of_ceiling(most.value, rated.value)};
    if (figure.used <= 1) {
      owed.holds(figure, solved.describe(most));
    } else if (!wire.volts) {
      owed.undecided(
          fmt::format("'{}' meets {} and the rated voltage of its cable is not given; vehicle cable is made for {}",
                      wire.name, figure.value, figure.limit),
          "write `volts: 600 V` in it, as printed on the cable");
    } else {
      owed.broken(fmt::format("'{}' meets {} and its cable is rated {}", wire.name, figure.value, figure.limit), figure,
                  solved.describe(most))
          .see(wire.volts->at, "rated voltage")
          .fix("cable for 600 V (ISO 6722-1 600 V, ISO 19642)");
    }
  }
}

}  // namespace

const Rule cable_volts{
    .slug = "cable-volts",
    .group = Group::insulation,
    .severity = Severity::danger,
    .promise = "Every wire's insulation is rated for the voltage that it meets.",
    .judge = judge_cable_volts,
};

}  // namespace loomproof
