// duty-reached: every duty point of the file is possible in at least one switch state.
//
// A duty that cannot happen is not judged by any rule, so that must not stay silent. docs/rules/duty-reached.md
#include <algorithm>
#include <set>

#include "rules/list.h"
#include "rules/subject.h"

namespace loomproof {
namespace {

// A duty current that no point sets is taken as none: its wires would be judged cold.
void judge_channels(const Rule& rule, const Loom& loom, Ledger& ledger) {
  std::set<std::pair<std::size_t, std::string>> channels;
  for (const Load& load : loom.elements.loads) {
    if (!load.channel.empty()) channels.emplace(load.part.value, load.channel);
  }
  for (const Lead& lead : loom.elements.leads) {
    if (lead.gives) channels.emplace(lead.part.value, lead.channel);
  }
  for (const auto& [part, channel] : channels) {
    const bool set =
        std::any_of(loom.duty.begin(), loom.duty.end(), [&, &wanted = channel, p = part](const auto& point) {
          return std::any_of(point.currents.begin(), point.currents.end(), [&](const ChannelCurrent& c) {
            return c.part.value == p && c.channel == wanted && c.amps.value > 0;
          });
        });
    Subject subject = subject_of(loom, PartIndex{part});
    const std::string name = subject.name + "." + channel;
    subject.name = name;
    Obligation& owed = ledger.open(rule, std::move(subject));
    if (set) {
      owed.holds("set by a duty point");
    } else {
      owed.undecided(fmt::format("no duty point sets '{}', so that its wires were judged without current", name),
                     fmt::format("write `duty: {{climb: {{{}: 120 A}}}}`", name));
    }
  }
}

void judge(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (std::size_t d = 0; d < loom.duty.size(); ++d) {
    Obligation& owed = ledger.open(rule, {loom.duty[d].name, loom.duty[d].at, std::nullopt, std::nullopt});
    if (solved.duty_reached[d]) {
      owed.holds("possible");
      continue;
    }
    owed.broken(fmt::format("duty point '{}' is possible in no switch state", loom.duty[d].name))
        .note("its currents were judged by no rule")
        .fix("see what keeps the part dead: contactor coil, key, throttle, permit, or a position under `with`");
  }
  judge_channels(rule, loom, ledger);
}

}  // namespace

const Rule duty_reached{
    .slug = "duty-reached",
    .group = Group::completeness,
    .severity = Severity::nuisance,
    .promise = "Every duty point of the file is possible in at least one switch state.",
    .judge = judge,
};

}  // namespace loomproof
