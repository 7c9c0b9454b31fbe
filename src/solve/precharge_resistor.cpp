// Picks a precharge resistor from the usual values.
#include <algorithm>
#include <array>
#include <cmath>

#include "solve/precharge.h"

namespace loomproof {
namespace {

// IEC 60063 E12.
constexpr std::array<double, 12> e12{1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2};
constexpr std::array<double, 12> usual_w{1, 2, 3, 5, 10, 15, 25, 50, 100, 200, 300, 500};

// Wirewound resistors bear five times their watts for five seconds (common practice, no source): 25 J per rated watt.
constexpr double pulse_j_per_w = 25;

double usual_watts(double at_least_w) {
  const auto found = std::lower_bound(usual_w.begin(), usual_w.end(), at_least_w);
  return found != usual_w.end() ? *found : std::ceil(at_least_w / 500) * 500;
}

}  // namespace

std::optional<ResistorProposal> propose_resistor(const PrechargeCircuit& circuit, Second wanted,
                                                 std::optional<Second> timeout, double fraction) {
  for (int decade = 4; decade >= -1; --decade)
    for (auto digit = e12.rbegin(); digit != e12.rend(); ++digit) {
      PrechargeCircuit tried = circuit;
      tried.resistor = Ohm(*digit * std::pow(10, decade));
      const PrechargeOutcome outcome = precharge_outcome(tried, fraction);
      if (outcome.hunts || !outcome.to_fraction || *outcome.to_fraction > wanted) continue;
      const Joule once = resistor_energy(tried, std::max(wanted, *outcome.to_fraction));
      ResistorProposal proposal{tried.resistor, {}, once, *outcome.to_fraction};
      if (timeout) {
        proposal.pulse = std::max(once, Joule(outcome.shorted_power.value * timeout->value));
        proposal.watts = Watt(usual_watts(proposal.pulse.value / pulse_j_per_w));
      } else {
        proposal.watts = Watt(usual_watts(outcome.shorted_power.value));
      }
      return proposal;
    }
  return std::nullopt;
}

}  // namespace loomproof
