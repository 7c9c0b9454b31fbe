// duty-reached: every duty point of the file is possible in at least one switch state.
//
// A duty that cannot happen is not judged by any rule, so that must not stay silent. docs/rules/duty-reached.md
#include <algorithm>
#include <set>

#include "rules/list.h"
#include "rules/subject.h"
#include "units/print.h"

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

struct Given {
  double share = 0;  // of the current that the duty asks for
  Extreme most;
};

// What a part gets at the best of a channel's current, while it has its working voltage.
Given given_of(const Solved& solved, std::size_t d, const ChannelCurrent& wanted) {
  const Loom& loom = *solved.loom;
  Given out;
  for (std::size_t p = 0; p < solved.points.size(); ++p) {
    const OperatingPoint& point = solved.points[p];
    if (!point.situation.duty || point.situation.duty->value != d) continue;
    for (std::size_t i = 0; i < loom.elements.loads.size(); ++i) {
      const Load& load = loom.elements.loads[i];
      if (load.part != wanted.part || load.channel != wanted.channel) continue;
      const auto v = voltage(solved.circuit, point, load.pos, load.neg);
      if (!v || (load.low_v && v->value < *load.low_v)) continue;
      const double share = point.load_a[i] / wanted.amps.value;
      if (!out.most || share > out.share) out = {share, {point.load_a[i], p}};
    }
  }
  return out;
}

bool is_load_channel(const Loom& loom, const ChannelCurrent& wanted) {
  return std::any_of(loom.elements.loads.begin(), loom.elements.loads.end(),
                     [&](const Load& load) { return load.part == wanted.part && load.channel == wanted.channel; });
}

// A duty that the network took on and could not feed: a bus behind its precharge resistor gives a few ampere at most.
void judge_given(const Solved& solved, std::size_t d, Obligation& owed) {
  constexpr double most_missing = 0.05;
  const Loom& loom = *solved.loom;
  for (const ChannelCurrent& wanted : loom.duty[d].currents) {
    if (wanted.amps.value == 0 || !is_load_channel(loom, wanted)) continue;
    const Given given = given_of(solved, d, wanted);
    if (given.most && given.share >= 1 - most_missing) continue;
    const std::string part = loom.part(wanted.part).name;
    owed.broken(given.most
                    ? fmt::format("duty point '{}' asks for {} of '{}' and it gets {} at the most", loom.duty[d].name,
                                  show(wanted.amps), part, show(Ampere(given.most.value)))
                    : fmt::format("in duty point '{}' '{}' never has its working voltage", loom.duty[d].name, part),
                std::nullopt, solved.describe(given.most))
        .note("its currents were judged by no rule")
        .fix("see whether the main contactor closes at all, and what stands between pack and controller");
    return;
  }
}

bool gives_torque(const Loom& loom, const OperatingPoint& point, PartIndex part) {
  bool has_torque = false;
  for (std::size_t o = 0; o < loom.elements.outputs.size(); ++o) {
    const Output& output = loom.elements.outputs[o];
    if (output.part != part || output.name != "torque") continue;
    if (point.logic.output_on[o] == 0) return false;
    has_torque = true;
  }
  return has_torque;
}

bool meets(const Situation& situation, const DutyPoint& duty) {
  return std::all_of(duty.with.begin(), duty.with.end(),
                     [&](const auto& fixed) { return situation.positions[fixed.first.value] == fixed.second; });
}

// A motor lead that stands parted wherever its controller gives torque: then that is why.
std::optional<TerminalIndex> lead_never_joined(const Solved& solved, const DutyPoint& duty) {
  for (const ChannelCurrent& wanted : duty.currents) {
    if (wanted.amps.value == 0) continue;
    std::optional<TerminalIndex> parted;
    for (const OperatingPoint& point : solved.points) {
      if (point.situation.duty || !meets(point.situation, duty)) continue;
      if (!gives_torque(*solved.loom, point, wanted.part)) continue;
      parted = parted_lead(solved.circuit, point, wanted);
      if (!parted) break;
    }
    if (parted) return parted;
  }
  return std::nullopt;
}

void judge_duty_reached(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  for (std::size_t d = 0; d < loom.duty.size(); ++d) {
    Obligation& owed = ledger.open(rule, {loom.duty[d].name, loom.duty[d].at, std::nullopt, std::nullopt});
    if (solved.duty_reached[d]) {
      owed.holds("possible");
      judge_given(solved, d, owed);
      continue;
    }
    owed.broken(fmt::format("duty point '{}' is possible in no switch state", loom.duty[d].name))
        .note("its currents were judged by no rule");
    if (const auto lead = lead_never_joined(solved, loom.duty[d])) {
      owed.note(fmt::format("contacts part '{}' from every motor wherever its controller gives torque",
                            loom.title(*lead)))
          .fix("close those contacts in the states in which the vehicle drives");
      continue;
    }
    owed.fix("see what keeps the part dead: contactor coil, key, throttle, permit, or a position under `with`");
  }
  judge_channels(rule, loom, ledger);
}

}  // namespace

const Rule duty_reached{
    .slug = "duty-reached",
    .group = Group::completeness,
    .severity = Severity::nuisance,
    .promise = "Every duty point of the file is possible in at least one switch state.",
    .judge = judge_duty_reached,
};

}  // namespace loomproof
