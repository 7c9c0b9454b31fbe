// key-off-drain: what the vehicle draws at rest does not flatten a battery within a month.
//
// docs/rules/key-off-drain.md
#include <algorithm>
#include <map>

#include "rules/list.h"
#include "rules/subject.h"
#include "units/print.h"

namespace loomproof {
namespace {

constexpr double least_days = 30;  // from full to flat (common practice, no source)
constexpr double least_drain_a = 0.5e-3;

// Every switch at rest, nothing driven, full pack.
const OperatingPoint* at_rest(const Solved& solved) {
  for (const OperatingPoint& point : solved.points) {
    const auto& at = point.situation.positions;
    if (point.situation.duty || point.situation.charge != Charge::full) continue;
    if (std::all_of(at.begin(), at.end(), [](std::int8_t position) { return position == 0; })) return &point;
  }
  return nullptr;
}

void judge_battery(const Solved& solved, const Source& s, double drawn_a, Obligation& owed) {
  const Loom& loom = *solved.loom;
  const std::string name = loom.part(s.part).name;
  if (drawn_a < least_drain_a) {
    owed.holds("next to nothing is drawn from it at rest");
    return;
  }
  if (!s.capacity_ah) {
    owed.undecided(fmt::format("'{}' gives {} at rest and its capacity is not given", name, show(Ampere(drawn_a))),
                   ask_for(loom, s, s.capacity_ah, "50 Ah"));
    return;
  }
  const double days = *s.capacity_ah / drawn_a / 24;
  const Figure figure{fmt::format("{:.0f} days", days), fmt::format("{:.0f} days", least_days),
                      used_of_floor(days, least_days)};
  if (figure.used <= 1) {
    owed.holds(figure, "everything at rest");
    return;
  }
  owed.broken(
      fmt::format("'{}' gives {} with everything off and is flat after {}", name, show(Ampere(drawn_a)), figure.value),
      figure, "everything at rest");
  const OperatingPoint& point = *at_rest(solved);
  std::vector<std::pair<double, std::string>> takers;
  for (std::size_t i = 0; i < loom.elements.loads.size(); ++i)
    takers.emplace_back(point.load_a[i], loom.part(loom.elements.loads[i].part).name);
  for (std::size_t i = 0; i < loom.elements.converters.size(); ++i)
    takers.emplace_back(point.converter_in_a[i], loom.part(loom.elements.converters[i].part).name);
  std::sort(takers.rbegin(), takers.rend());
  for (std::size_t i = 0; i < std::min<std::size_t>(3, takers.size()); ++i) {
    if (takers[i].first > least_drain_a)
      owed.note(fmt::format("'{}' takes {}", takers[i].second, show(Ampere(takers[i].first))));
  }
  owed.fix("put what need not stay awake behind the key or the main contactor");
}

void judge_key_off_drain(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const OperatingPoint* rest = at_rest(solved);
  const bool operated =
      std::any_of(loom.parts.begin(), loom.parts.end(), [](const Part& part) { return !part.positions.empty(); });
  std::map<std::size_t, std::pair<const Source*, double>> drawn;  // by part: most of its sections
  for (std::size_t i = 0; i < loom.elements.sources.size(); ++i) {
    const Source& s = loom.elements.sources[i];
    if (!s.sinks) continue;
    auto& slot = drawn.try_emplace(s.part.value, &s, 0.0).first->second;
    if (rest != nullptr) slot.second = std::max(slot.second, rest->source_a[i]);
  }
  for (const auto& [part, source] : drawn) {
    Obligation& owed = ledger.open(rule, subject_of(loom, PartIndex{part}));
    if (!operated) {
      owed.holds("no switch in the file: nothing tells rest from use");
    } else if (rest == nullptr) {
      owed.undecided("the vehicle at rest did not settle", "see what comes-to-rest says of it");
    } else {
      judge_battery(solved, *source.first, source.second, owed);
    }
  }
}

}  // namespace

const Rule key_off_drain{
    .slug = "key-off-drain",
    .group = Group::source,
    .severity = Severity::nuisance,
    .promise = "What the vehicle draws at rest does not flatten a battery within a month.",
    .judge = judge_key_off_drain,
};

}  // namespace loomproof
