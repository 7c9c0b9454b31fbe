// hall-leads: every position sensor of a motor leads to the controller's input of the same phase, and to nothing else.
//
// Sensor a belongs to the first phase, b to the second, c to the third, as the catalogue has it.
// docs/rules/hall-leads.md
#include <algorithm>
#include <array>
#include <optional>
#include <vector>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/conductor_pieces.h"
#include "solve/supply.h"

namespace loomproof {
namespace {

constexpr std::size_t phases = 3;
constexpr std::array<const char*, phases> sensor_names{"hall_a", "hall_b", "hall_c"};

// A controller or a motor that has position sensors wired: its leads in the order in which its kind names them.
struct End {
  PartIndex part;
  bool gives = true;
  std::vector<TerminalIndex> leads;
  std::array<TerminalIndex, phases> sensors;
  std::optional<TerminalIndex> supply, back;
};

std::optional<TerminalIndex> terminal_of(const Loom& loom, PartIndex part, const char* name) {
  return loom.find_terminal(fmt::format("{}.{}", loom.part(part).name, name));
}

std::vector<End> ends_of(const Loom& loom) {
  std::vector<End> out;
  for (const Lead& lead : loom.elements.leads) {
    const auto same = std::find_if(out.begin(), out.end(),
                                   [&](const End& e) { return e.part == lead.part && e.gives == lead.gives; });
    if (same != out.end()) {
      same->leads.push_back(lead.terminal);
      continue;
    }
    End end{lead.part, lead.gives, {lead.terminal}, {}, {}, {}};
    bool has_all = true;
    for (std::size_t k = 0; k < phases; ++k) {
      const auto t = terminal_of(loom, lead.part, sensor_names[k]);
      has_all = has_all && t;
      if (t) end.sensors[k] = *t;
    }
    end.supply = terminal_of(loom, lead.part, "hall_supply");
    end.back = terminal_of(loom, lead.part, "hall_return");
    if (has_all) out.push_back(std::move(end));
  }
  std::erase_if(out, [&](const End& e) {
    return e.leads.size() != phases ||
           std::none_of(e.sensors.begin(), e.sensors.end(), [&](TerminalIndex t) { return is_wired(loom, t); });
  });
  return out;
}

// One sensor or phase of one of the ends.
struct Partner {
  std::size_t end = 0;
  std::size_t number = 0;
};

struct Tie {
  TerminalIndex sensor, other;
  std::size_t point = 0;
};

class Halls {
 public:
  explicit Halls(const Solved& solved)
      : ends(ends_of(*solved.loom)),
        solved_(solved),
        pieces_(solved.circuit, true),
        ever_(
            components(solved.graph, solved.circuit, [&](const Branch& b) { return is_conductor(solved.circuit, b); })),
        poles_(poles_of(*solved.loom)) {}

  const std::vector<End> ends;

  bool ever(TerminalIndex a, TerminalIndex b) const {
    return ever_[solved_.circuit.node(a)] == ever_[solved_.circuit.node(b)];
  }

  // What conductors tie the sensor's lead to: another sensor, a phase, a pole, the frame.
  std::optional<Tie> tie_of(const End& end, std::size_t number) {
    const TerminalIndex sensor = end.sensors[number];
    std::vector<TerminalIndex> others = poles_;
    for (const Lead& lead : solved_.loom->elements.leads) others.push_back(lead.terminal);
    for (std::size_t k = number + 1; k < phases; ++k) others.push_back(end.sensors[k]);
    for (const TerminalIndex other : others) {
      if (!ever(sensor, other)) continue;
      for (std::size_t p = 0; p < solved_.points.size(); ++p) {
        const Circuit& circuit = solved_.circuit;
        if (pieces_.joined(solved_.points[p].logic, circuit.node(sensor), circuit.node(other)))
          return Tie{sensor, other, p};
      }
    }
    return std::nullopt;
  }

  // Whether the frame is in the way from a terminal to the controller's ground: a way there that passes no controller.
  bool returns_by_frame(TerminalIndex t) const {
    std::vector<TerminalIndex> grounds;
    for (const End& e : ends) {
      if (!e.gives) continue;
      for (const auto& ground : {e.back, terminal_of(*solved_.loom, e.part, "io_neg")}) {
        if (ground) grounds.push_back(*ground);
      }
    }
    return meets_frame(solved_.graph, solved_.circuit, t, grounds);
  }

  // Sensors, or phases, of motors that a terminal of a controller leads to; the other way round for a motor's.
  std::vector<Partner> partners_of(TerminalIndex t, bool gives, bool sensors) const {
    std::vector<Partner> out;
    for (std::size_t e = 0; e < ends.size(); ++e) {
      if (ends[e].gives == gives) continue;
      for (std::size_t k = 0; k < phases; ++k) {
        if (ever(t, sensors ? ends[e].sensors[k] : ends[e].leads[k])) out.push_back({e, k});
      }
    }
    return out;
  }

 private:
  const Solved& solved_;
  ConductorPieces pieces_;
  std::vector<int> ever_;  // by node: pieces with every contact closed
  std::vector<TerminalIndex> poles_;
};

Subject subject_terminal(const Loom& loom, TerminalIndex t) {
  Subject subject = subject_of(loom, loom.terminal(t).part);
  subject.name = loom.title(t);
  return subject;
}

// @return whether every sensor's lead goes where only a sensor is
bool judge_leads(const Rule& rule, const Solved& solved, Halls& halls, const End& end, bool asks_for_missing,
                 std::vector<Tie>& told, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  bool good = true;
  for (std::size_t k = 0; k < phases; ++k) {
    const TerminalIndex sensor = end.sensors[k];
    const auto tie = halls.tie_of(end, k);
    if (tie) {
      good = false;
      // One cause, one finding: both ends of one lead are on the same pole.
      if (std::any_of(told.begin(), told.end(), [&](const Tie& t) { return halls.ever(t.sensor, sensor); })) continue;
      told.push_back(*tie);
      ledger.open(rule, subject_terminal(loom, sensor))
          .broken(fmt::format("nothing but conductors joins '{}' and '{}'", loom.title(sensor), loom.title(tie->other)),
                  std::nullopt, solved.describe(solved.points[tie->point].situation))
          .of_wiring()
          .note(
              "the controller sees a rotor that never moves: the motor jerks or stalls at full current, and what is "
              "made for the sensor's few volts burns on more")
          .fix("a lead of its own from each sensor to the controller, and nothing else on it");
      continue;
    }
    const auto partners = halls.partners_of(sensor, end.gives, true);
    if (partners.empty() && !asks_for_missing) continue;
    Obligation& owed = ledger.open(rule, subject_terminal(loom, sensor));
    if (!partners.empty()) {
      owed.holds(fmt::format("led to '{}'", loom.title(halls.ends[partners[0].end].sensors[partners[0].number])));
      continue;
    }
    good = false;
    owed.broken(fmt::format("'{}' is led to no {}, and others of '{}' are", loom.title(sensor),
                            end.gives ? "position sensor" : "controller", loom.part(end.part).name))
        .of_wiring()
        .note("with one position missing the motor starts at random, jerks, or pulls backward")
        .fix(end.gives ? "wire all three sensors, or none where the controller does without"
                       : "wire all three sensors to the controller that drives this motor");
  }
  return good;
}

void judge_order(const Loom& loom, const Halls& halls, const End& end, Obligation& owed) {
  const std::string name = loom.part(end.part).name;
  for (std::size_t k = 0; k < phases; ++k) {
    const auto sensed = halls.partners_of(end.sensors[k], true, true);
    const auto driven = halls.partners_of(end.leads[k], true, false);
    if (sensed.size() != 1 || driven.size() != 1) {
      owed.undecided(
          fmt::format("whether the position sensors of '{}' fit its phases cannot be told: '{}' leads to {} "
                      "phases of motors with sensors and '{}' to {} sensors",
                      name, loom.title(end.leads[k]), driven.size(), loom.title(end.sensors[k]), sensed.size()),
          "lead each phase, and each sensor, to one terminal of one motor");
      return;
    }
    const End& motor = halls.ends[sensed[0].end];
    if (sensed[0].end == driven[0].end && sensed[0].number == driven[0].number) continue;
    const bool other_motor = sensed[0].end != driven[0].end;
    owed.broken(fmt::format("'{}' reads '{}' while '{}' drives '{}': sensors of {}", loom.title(end.sensors[k]),
                            loom.title(motor.sensors[sensed[0].number]), loom.title(end.leads[k]),
                            loom.title(halls.ends[driven[0].end].leads[driven[0].number]),
                            other_motor ? "another motor" : "another phase"))
        .of_wiring()
        .note(
            "the controller takes one position of the rotor for another: the motor jerks, stalls at full phase "
            "current, or pulls the vehicle backward")
        .note(
            "names of two makers need not agree: where a trial with the wheel off the ground has shown that it runs "
            "well so, name the terminals in the file by the phase that they belong to, or waive this with a reason")
        .fix("sensors in the order of the phases: a with u, b with v, c with w, at both ends");
    return;
  }
  owed.holds("each sensor beside its own phase, by the names");
}

// The sensors' own supply: none, or one that is not meant for them.
void judge_supply(const Loom& loom, const Halls& halls, const End& motor, Obligation& owed) {
  for (const auto& [pole, what] : {std::pair(motor.supply, "supply"), std::pair(motor.back, "return")}) {
    if (!pole) continue;
    if (!is_wired(loom, *pole)) {
      owed.broken(fmt::format("no wire lands on '{}': the sensors of '{}' have no {}", loom.title(*pole),
                              loom.part(motor.part).name, what))
          .of_wiring()
          .note("sensors without current show one position for ever: the motor jerks or stalls at full current")
          .fix("lead it to the terminal of the same name of the controller");
      return;
    }
    if (pole == motor.back && halls.returns_by_frame(*pole)) {
      owed.severity = Severity::damage;
      owed.broken(fmt::format("'{}' returns by the frame", loom.title(*pole)))
          .of_wiring()
          .note(
              "what lamps and horn send through the frame lifts the sensors' zero, and the motor jerks; where a return "
              "of "
              "theirs is lost, their current seeks its way through the controller's thin sensor ground")
          .fix("a lead of its own to the controller's sensor return, and no frame stud on it");
      return;
    }
    const bool of_a_controller = std::any_of(halls.ends.begin(), halls.ends.end(), [&](const End& e) {
      const auto& there = pole == motor.supply ? e.supply : e.back;
      return e.gives && there && halls.ever(*pole, *there);
    });
    if (!of_a_controller) {
      owed.undecided(fmt::format("'{}' is led to no controller's sensor {}, and what the sensors stand is not known",
                                 loom.title(*pole), what),
                     "lead it to the terminal of the same name of the controller, or waive this with what the motor's "
                     "data say of its sensors");
      return;
    }
  }
  owed.holds("fed by the controller that reads them");
}

void judge_hall_leads(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  Halls halls(solved);
  std::vector<Tie> told;
  bool controllers_good = true;
  for (const End& end : halls.ends) {
    if (!end.gives) continue;
    const bool good = judge_leads(rule, solved, halls, end, true, told, ledger);
    controllers_good = controllers_good && good;
    if (good) judge_order(loom, halls, end, ledger.open(rule, subject_of(loom, end.part)));
  }
  for (const End& end : halls.ends) {
    if (end.gives) continue;
    // A lead that is missing is told at the controller where it is missing there too.
    judge_leads(rule, solved, halls, end, controllers_good, told, ledger);
    judge_supply(loom, halls, end, ledger.open(rule, subject_of(loom, end.part)));
  }
}

}  // namespace

const Rule hall_leads{
    .slug = "hall-leads",
    .group = Group::terminations,
    .severity = Severity::danger,
    .promise =
        "Every position sensor of a motor leads to the controller's input of the same phase, and to nothing else.",
    .judge = judge_hall_leads,
};

}  // namespace loomproof
