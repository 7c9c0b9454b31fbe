// A bus held by a source.
#include "solve/held_bus.h"

#include <algorithm>

namespace loomproof {
namespace {

constexpr double open_ohm = 1e9;   // stands for a contact that would be closed and is not yet
constexpr double held_ohm = 1e-4;  // of the source that stands for the capacitances
constexpr double least_v = 1e-3;   // a source without voltage would be none to the network

}  // namespace

HeldBus::HeldBus(const Circuit& circuit, const Closing& closing, const Situation& situation)
    : loom_(*circuit.loom), situation_(situation), contact_(closing.contact) {
  const Capacitance& bank = loom_.elements.capacitances[closing.capacitance];
  Source held;
  held.part = bank.part;
  held.name = "held_bus";
  held.pos = bank.a;
  held.neg = bank.b;
  held.ohm.value = held_ohm;
  source_ = loom_.elements.sources.size();
  loom_.elements.sources.push_back(held);
  circuit_ = build_circuit(loom_);
  for (const Branch& b : circuit_.branches) own_ohm_.push_back(b.ohm);
}

void HeldBus::set_waiting(const std::vector<std::size_t>& waiting) {
  for (std::size_t i = 0; i < circuit_.branches.size(); ++i) {
    Branch& b = circuit_.branches[i];
    if (b.type != BranchType::contact) continue;
    const bool kept = b.index == contact_ || std::find(waiting.begin(), waiting.end(), b.index) != waiting.end();
    b.ohm = kept ? open_ohm : own_ohm_[i];
  }
}

OperatingPoint HeldBus::at(double bus_v, const OperatingPoint* before) {
  Source& held = loom_.elements.sources[source_];
  held.full_v.value = held.nominal_v.value = held.empty_v.value = std::max(bus_v, least_v);
  if (!network_) network_.emplace(circuit_);
  return before != nullptr ? network_->settle_from(*before, situation_) : network_->settle(situation_);
}

}  // namespace loomproof
