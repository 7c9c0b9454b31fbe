// Which accessories together make a current or a voltage largest or smallest.
#include "solve/accessory_sums.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace loomproof {
namespace {

constexpr double not_followed = 0.005;  // of a reading
constexpr double nothing = 1e-6;       // A or V

double across(const OperatingPoint& point, const Branch& b) {
  return point.piece[b.a] == point.piece[b.b] ? point.node_v[b.a] - point.node_v[b.b] : 0;
}

// Everything that a wire, a contact, a source or a consumer meets.
std::vector<double> readings_of(const Circuit& circuit, const OperatingPoint& point) {
  std::vector<double> out;
  for (const Branch& b : circuit.branches) {
    const double v = across(point, b);
    out.push_back(b.type == BranchType::wire || b.type == BranchType::fuse ? v / b.ohm : v);
    if (b.type == BranchType::contact) out.push_back(point.logic.contact_closed[b.index] != 0 ? v / b.ohm : 0);
  }
  for (const auto* list : {&point.source_a, &point.converter_out_a, &point.diode_a})
    out.insert(out.end(), list->begin(), list->end());
  return out;
}

double drawn_a(const OperatingPoint& point) {
  double sum = 0;
  for (double a : point.source_a) sum += std::fabs(a);
  for (double a : point.converter_out_a) sum += std::fabs(a);
  return sum;
}

// The set of each group that gains most by itself.
struct Gains {
  std::vector<double> gain;      // by group
  std::vector<std::size_t> set;  // by group

  explicit Gains(std::size_t groups) : gain(groups, 0), set(groups, 0) {}

  void offer(std::size_t group, std::size_t with, double more) {
    if (more > gain[group]) gain[group] = more, set[group] = with;
  }

  // Together, without those that add next to nothing.
  Positions together(const SwitchStates& states, double base) const {
    std::vector<std::size_t> order(gain.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return gain[a] < gain[b]; });
    const double whole = std::fabs(base) + std::accumulate(gain.begin(), gain.end(), 0.0);
    double left = 0;
    Positions out = states.sets.front().positions;
    for (std::size_t g : order) {
      left += gain[g];
      if (gain[g] <= nothing || left <= not_followed * whole) continue;
      for (std::size_t p : states.accessories[g]) out[p] = states.sets[set[g]].positions[p];
    }
    return out;
  }
};

// What the others do to a group that is off shows at its open contact: with them it is then switched on.
void sums_across(const SwitchStates& states, const std::vector<const OperatingPoint*>& alone, const Branch& contact,
                 std::set<Positions>& out) {
  const auto is_closed = [&](std::size_t s) { return alone[s]->logic.contact_closed[contact.index] != 0; };
  if (is_closed(0)) return;
  const double base = across(*alone.front(), contact);
  for (double sign : {1.0, -1.0}) {
    Gains gains(states.accessories.size());
    for (std::size_t s = 0; s < alone.size(); ++s) {
      if (states.sets[s].group && alone[s] != nullptr && !is_closed(s))
        gains.offer(*states.sets[s].group, s, sign * (across(*alone[s], contact) - base));
    }
    for (std::size_t s = 0; s < alone.size(); ++s) {
      if (!states.sets[s].group || alone[s] == nullptr || !is_closed(s)) continue;
      Positions with = gains.together(states, base);
      for (std::size_t p : states.accessories[*states.sets[s].group]) with[p] = states.sets[s].positions[p];
      out.insert(std::move(with));
    }
  }
}

}  // namespace

std::set<Positions> sums_of(const Circuit& circuit, const SwitchStates& states,
                            const std::vector<const OperatingPoint*>& alone) {
  if (alone.empty() || alone.front() == nullptr) return {};
  std::vector<std::vector<double>> readings;
  for (const OperatingPoint* point : alone)
    readings.push_back(point != nullptr ? readings_of(circuit, *point) : std::vector<double>{});
  std::set<Positions> out;
  for (std::size_t j = 0; j < readings.front().size(); ++j) {
    const double base = readings.front()[j];
    for (double sign : {1.0, -1.0}) {
      Gains gains(states.accessories.size());
      for (std::size_t s = 0; s < readings.size(); ++s) {
        if (states.sets[s].group && !readings[s].empty())
          gains.offer(*states.sets[s].group, s, sign * (readings[s][j] - base));
      }
      out.insert(gains.together(states, base));
    }
  }
  for (const Branch& b : circuit.branches) {
    if (b.type == BranchType::contact) sums_across(states, alone, b, out);
  }
  return out;
}

Heaviest heaviest_of(const SwitchStates& states, const std::vector<const OperatingPoint*>& alone) {
  Heaviest out{states.sets.front().positions, 0};
  if (alone.empty() || alone.front() == nullptr) return out;
  const double base = drawn_a(*alone.front());
  Gains gains(states.accessories.size());
  for (std::size_t s = 0; s < alone.size(); ++s) {
    if (states.sets[s].group && alone[s] != nullptr) gains.offer(*states.sets[s].group, s, drawn_a(*alone[s]) - base);
  }
  for (std::size_t g = 0; g < gains.gain.size(); ++g) {
    out.amps += gains.gain[g];
    for (std::size_t p : states.accessories[g]) out.set[p] = states.sets[gains.set[g]].positions[p];
  }
  return out;
}

std::vector<Positions> beside_heaviest(const SwitchStates& states, const Positions& heaviest) {
  std::vector<Positions> out{heaviest};
  for (const AccessorySet& set : states.sets) {
    Positions next = heaviest;
    if (set.group) {
      for (std::size_t p : states.accessories[*set.group]) next[p] = set.positions[p];
      out.push_back(next);
      continue;
    }
    // Rest of each group; and what a duty point fixes.
    for (const auto& group : states.accessories) {
      Positions one = heaviest;
      for (std::size_t p : group) one[p] = set.positions[p];
      out.push_back(one);
    }
    for (std::size_t p = 0; p < next.size(); ++p) {
      if (set.positions[p] != 0) next[p] = set.positions[p];
    }
    out.push_back(next);
  }
  return out;
}

}  // namespace loomproof
