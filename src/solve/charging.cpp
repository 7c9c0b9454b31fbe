// Where precharge is looked at, and how it runs there.
#include "solve/charging.h"

#include <algorithm>
#include <cmath>

#include "solve/by_state.h"

namespace loomproof {

std::vector<Situation> closing_situations(const Circuit& circuit, const Closing& closing,
                                          const std::vector<OperatingPoint>& points,
                                          const std::vector<OperatingPoint>& troubled) {
  const auto moves_of = [](const OperatingPoint& p) {
    return std::count_if(p.situation.positions.begin(), p.situation.positions.end(), [](auto x) { return x != 0; });
  };
  const Capacitance& bank = circuit.loom->elements.capacitances[closing.capacitance];
  const Branch* contact = nullptr;
  for (const Branch& b : circuit.branches) {
    if (b.type == BranchType::contact && b.index == closing.contact) contact = &b;
  }
  const auto at_rest = [](const OperatingPoint& p, Charge charge) {
    return !p.situation.duty && p.situation.charge == charge;
  };
  std::vector<Situation> out;
  for (const Charge charge : {Charge::empty, Charge::full}) {
    const OperatingPoint *fewest = nullptr, *most = nullptr, *highest = nullptr, *restless = nullptr;
    double most_a = 0, highest_v = 0;
    // Closed only because it was: nothing closes it from there, so that no charging starts there.
    ByState<OperatingPoint> also_open;
    for (const OperatingPoint& p : points) {
      if (at_rest(p, charge) && p.logic.contact_closed[closing.contact] == 0) also_open.add(p.situation, p);
    }
    also_open.close();
    for (const OperatingPoint& p : points) {
      if (!at_rest(p, charge)) continue;
      const bool is_closed = p.logic.contact_closed[closing.contact] != 0;
      if (is_closed && also_open.at(charge, p.situation.positions) != nullptr) continue;
      const auto v = voltage(circuit, p, bank.a, bank.b);
      if (!v) continue;
      if (!is_closed) {
        if (highest == nullptr || v->value > highest_v) {
          highest = &p;
          highest_v = v->value;
        }
        continue;
      }
      if (v->value < 0.5 * closing.source_v) continue;
      if (fewest == nullptr || moves_of(p) < moves_of(*fewest)) fewest = &p;
      const double amps = std::fabs(branch_current_a(circuit, p, *contact));
      if (most == nullptr || amps > most_a * (1 + 1e-6)) {
        most = &p;
        most_a = amps;
      }
    }
    for (const OperatingPoint& p : troubled) {
      if (at_rest(p, charge) && (restless == nullptr || moves_of(p) < moves_of(*restless))) restless = &p;
    }
    if (restless != nullptr) out.push_back(restless->situation);
    if (fewest != nullptr) {
      out.push_back(fewest->situation);
      if (most != fewest && charge == Charge::full) out.push_back(most->situation);
    } else if (highest != nullptr && restless == nullptr && charge == Charge::full) {
      out.push_back(highest->situation);
    }
  }
  return out;
}

std::vector<Charging> chargings_of(const Circuit& circuit, const CircuitGraph& graph,
                                   const std::vector<OperatingPoint>& settled,
                                   const std::vector<OperatingPoint>& troubled) {
  std::vector<Charging> out;
  for (Closing& closing : closings(circuit, graph, settled)) {
    Charging& charging = out.emplace_back();
    charging.closing = std::move(closing);
    if (!charging.closing.precharge_ohm) continue;
    charging.situations = closing_situations(circuit, charging.closing, settled, troubled);
    for (const Situation& situation : charging.situations)
      charging.runs.push_back(run_precharge(circuit, graph, charging.closing, situation));
  }
  return out;
}

}  // namespace loomproof
