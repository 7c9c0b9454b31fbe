// limit-nesting: the controller's limits lie within those of fuse, battery management and pack, in that order.
//
// Controller at most battery management at most cells, auxiliaries added (common practice, no source).
// docs/rules/limit-nesting.md
#include <algorithm>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/fuse_band.h"
#include "solve/pack_duty.h"
#include "solve/protect.h"
#include "units/print.h"

namespace loomproof {
namespace {

// One rung of the ladder: what may be reached at most, and what it is.
struct Rung {
  double amps;
  std::string what;  // "'pack' gives for ever"
  Place at;
  std::string consequence;
};

struct Controller {
  PartIndex part;
  int pos = 0, neg = 0;  // nodes of its bus
  const Load* bus = nullptr;
};

std::vector<Controller> controllers_of(const Solved& solved) {
  std::vector<Controller> out;
  for (const Load& load : solved.loom->elements.loads) {
    if (load.channel.empty() ||
        solved.loom->kind_of(solved.loom->part(load.part)).find_attribute("battery_limit") == nullptr)
      continue;
    out.push_back({load.part, solved.circuit.node(load.pos), solved.circuit.node(load.neg), &load});
  }
  return out;
}

// The fuse with the smallest rating that all of a pole's current passes on its way.
const Fuse* smallest_fuse(const Solved& solved, const PackPoles& pack, const Controller& c) {
  const Fuse* least = nullptr;
  for (const auto& [from, to] : {std::pair(pack.pos, c.pos), std::pair(pack.neg, c.neg)}) {
    for (std::size_t i : walk_between(solved.graph, solved.circuit, from, to,
                                      [&](const Branch& b) { return is_conductor(solved.circuit, b); })) {
      const Branch& b = solved.circuit.branches[i];
      if (b.type != BranchType::fuse) continue;
      const Fuse& fuse = solved.loom->elements.fuses[b.index];
      if (fuse.rated_a && (least == nullptr || *fuse.rated_a < *least->rated_a)) least = &fuse;
    }
  }
  return least;
}

void judge_limit(const Loom& loom, const Part& part, const char* attribute, const std::vector<Rung>& rungs,
                 Obligation& owed) {
  const auto limit_a = part.number(attribute);
  if (!limit_a) {
    owed.undecided(
        fmt::format("{} of '{}' is not given",
                    attribute == std::string("battery_limit") ? "battery limit" : "regeneration limit", part.name),
        fmt::format("write `{}: {}` in part '{}'", attribute,
                    attribute == std::string("battery_limit") ? "100 A" : "20 A` (or `0 A", part.name));
    return;
  }
  if (*limit_a <= 0) {
    owed.holds("it gives nothing back");
    return;
  }
  owed.holds("nothing that it hangs on states a limit");
  const Rung* tightest = nullptr;
  for (const Rung& rung : rungs) {
    if (tightest == nullptr || rung.amps < tightest->amps) tightest = &rung;
  }
  if (tightest == nullptr) return;
  const Figure figure{show(Ampere(*limit_a)), show(Ampere(tightest->amps)), used_of_ceiling(*limit_a, tightest->amps)};
  if (figure.used <= 1) {
    owed.holds(figure);
    return;
  }
  owed.broken(fmt::format("'{}' may {} {} and {} {}", part.name,
                          attribute == std::string("battery_limit") ? "draw" : "give back", figure.value,
                          tightest->what, figure.limit),
              figure);
  owed.note(tightest->consequence);
  std::string ladder;
  auto sorted = rungs;
  std::sort(sorted.begin(), sorted.end(), [](const Rung& a, const Rung& b) { return a.amps < b.amps; });
  for (const Rung& rung : sorted)
    ladder += fmt::format("{}{} {}", ladder.empty() ? "" : ", ", rung.what, show(Ampere(rung.amps)));
  if (rungs.size() > 1) owed.note("the ladder: " + ladder);
  owed.see(tightest->at, "the limit that is passed")
      .fix(fmt::format("set `{}` in the controller to at most {}", attribute, figure.limit));
  static_cast<void>(loom);
}

// A duty point that the controller cannot reach judges the loom by currents that never flow.
void judge_duty(const Rule& rule, const Loom& loom, const Controller& c, Ledger& ledger) {
  const Part& part = loom.part(c.part);
  struct Asked {
    const char* attribute;
    const char* channel;
    double sign;
  };
  for (const Asked& asked :
       {Asked{"battery_limit", "battery", 1}, Asked{"regen_limit", "battery", -1}, Asked{"phase_limit", "phase", 1}}) {
    const auto limit_a = part.number(asked.attribute);
    if (!limit_a) continue;
    for (const DutyPoint& duty : loom.duty) {
      for (const ChannelCurrent& current : duty.currents) {
        const double amps = current.amps.value * asked.sign;
        if (current.part.value != c.part.value || current.channel != asked.channel || amps <= *limit_a) continue;
        Subject subject{duty.name, current.at, std::nullopt, c.part};
        ledger.open(rule, std::move(subject))
            .broken(fmt::format("duty point '{}' asks {} of '{}', which is set to {}", duty.name, show(Ampere(amps)),
                                part.name, show(Ampere(*limit_a))),
                    Figure{show(Ampere(amps)), show(Ampere(*limit_a)), used_of_ceiling(amps, *limit_a)})
            .see(part.find(asked.attribute)->at, "the limit")
            .fix("write the limit as it is set, or the duty as it can be")
            .as(Severity::paperwork);
      }
    }
  }
}

void add(std::vector<Rung>& rungs, const Part& part, const char* attribute, std::string what, std::string consequence) {
  if (const auto amps = part.number(attribute)) {
    rungs.push_back({*amps, std::move(what), part.find(attribute)->at, std::move(consequence)});
  }
}

void judge_limit_nesting(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const auto packs = packs_of(solved.circuit);
  for (const Controller& c : controllers_of(solved)) {
    const Part& part = loom.part(c.part);
    std::vector<Rung> drawing, giving;
    for (const PackPoles& pack : packs) {
      if (solved.circuit.island_of[pack.pos] != solved.circuit.island_of[c.pos]) continue;
      const Source& s = loom.elements.sources[pack.source];
      const std::string name = "'" + loom.part(pack.part).name + "'";
      if (s.continuous_a) {
        drawing.push_back({*s.continuous_a, name + " gives for ever", place_of(loom, s, s.continuous_a),
                           "nothing but the rider ends a long climb: the cells overheat"});
      }
      if (s.charge_a) {
        giving.push_back({*s.charge_a, name + " may be charged with", place_of(loom, s, s.charge_a),
                          "cells that are charged too fast plate lithium and fail later without a warning"});
      }
      if (const Fuse* fuse = smallest_fuse(solved, pack, c)) {
        const auto curve = curve_of(loom, *fuse);
        const double hot_a = curve ? at_ambient(*curve, ambient_of(loom)).rated.value : *fuse->rated_a;
        const std::string fuse_name = "'" + loom.part(fuse->part).name + "'";
        drawing.push_back({hot_a, fuse_name + " carries in the heat", place_of(loom, *fuse, fuse->rated_a),
                           "the fuse ages, and opens one day on a hill without a fault"});
        giving.push_back({hot_a, fuse_name + " carries in the heat", place_of(loom, *fuse, fuse->rated_a),
                          "the fuse opens while the motor generates, and the bus voltage rises"});
      }
    }
    for (const Part& bms : loom.parts) {
      const std::string name = "'" + bms.name + "'";
      add(drawing, bms, "discharge_trip", name + " trips at", "it cuts the drive off in the middle of a climb");
      add(giving, bms, "charge_trip", name + " trips while charging at",
          "it parts the pack while the motor generates, and the bus voltage rises");
    }
    Subject drawn = subject_of(loom, c.part);
    drawn.name += ".battery_limit";
    judge_limit(loom, part, "battery_limit", drawing, ledger.open(rule, std::move(drawn)));
    judge_duty(rule, loom, c, ledger);
    Subject given = subject_of(loom, c.part);
    given.name += ".regen_limit";
    judge_limit(loom, part, "regen_limit", giving, ledger.open(rule, std::move(given)));
  }
  // The trip itself must come before the cells are past their peak.
  for (std::size_t i = 0; i < loom.parts.size(); ++i) {
    const auto trip_a = loom.parts[i].number("discharge_trip");
    if (!trip_a) continue;
    for (const PackPoles& pack : packs) {
      const Source& s = loom.elements.sources[pack.source];
      const Datum& most = s.peak_a ? s.peak_a : s.continuous_a;
      Subject subject = subject_of(loom, PartIndex{i});
      subject.name += ".discharge_trip";
      Obligation& owed = ledger.open(rule, std::move(subject));
      if (!most) {
        owed.undecided(fmt::format("what '{}' gives for a short time is not given", loom.part(pack.part).name),
                       ask_for(loom, s, s.peak_a, "300 A for 10 s"));
        continue;
      }
      const Figure figure{show(Ampere(*trip_a)), show(Ampere(*most)), used_of_ceiling(*trip_a, *most)};
      if (figure.used <= 1) {
        owed.holds(figure);
      } else {
        owed.broken(fmt::format("'{}' trips at {} and '{}' stands {}", loom.parts[i].name, figure.value,
                                loom.part(pack.part).name, figure.limit),
                    figure)
            .see(place_of(loom, s, most), "what the pack stands")
            .fix(fmt::format("set the trip to at most {}", figure.limit));
      }
    }
  }
}

}  // namespace

const Rule limit_nesting{
    .slug = "limit-nesting",
    .group = Group::source,
    .severity = Severity::damage,
    .promise = "The controller's limits lie within those of fuse, battery management and pack.",
    .judge = judge_limit_nesting,
};

}  // namespace loomproof
