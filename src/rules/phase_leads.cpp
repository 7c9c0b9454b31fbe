// phase-leads: no conductor joins two phases of a motor, or ties one to a pole of a supply or to the frame.
//
// Which phase goes to which only sets the direction and is not judged here. docs/rules/phase-leads.md
#include <algorithm>
#include <optional>
#include <vector>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/conductor_pieces.h"
#include "solve/pack_duty.h"
#include "solve/supply.h"

namespace loomproof {
namespace {

// The fields of a motor turn in three phases at least. One of two leads may lie on a pole: a motor with brushes.
constexpr std::size_t turning_field = 3;

struct Join {
  TerminalIndex lead, other;
  std::size_t point = 0;  // the first in which conductors join them
};

// All leads of one end of a channel: the phases of a controller, or of a motor.
struct Phases {
  PartIndex part;
  std::string channel;
  bool gives = true;
  std::vector<TerminalIndex> leads;
  std::optional<Join> join;
};

// Controllers first: what is wrong at both ends is told at the one that it destroys.
std::vector<Phases> phases_of(const Loom& loom) {
  std::vector<Phases> out;
  for (const bool gives : {true, false}) {
    for (const Lead& lead : loom.elements.leads) {
      if (lead.gives != gives) continue;
      const auto same = std::find_if(out.begin(), out.end(), [&](const Phases& p) {
        return p.part == lead.part && p.channel == lead.channel && p.gives == gives;
      });
      if (same != out.end()) {
        same->leads.push_back(lead.terminal);
      } else {
        out.push_back({lead.part, lead.channel, gives, {lead.terminal}, std::nullopt});
      }
    }
  }
  return out;
}

class Joins {
 public:
  Joins(const Solved& solved, const std::vector<Phases>& all)
      : solved_(solved),
        pieces_(solved.circuit, false),
        ever_(joined_without_diodes(solved.circuit, solved.graph)),
        poles_(poles_of(*solved.loom)) {
    for (const Phases& p : all) {
      if (p.gives) driven_.insert(driven_.end(), p.leads.begin(), p.leads.end());
    }
  }

  bool joined(std::size_t point, TerminalIndex a, TerminalIndex b) {
    return pieces_.joined(solved_.points[point].logic, solved_.circuit.node(a), solved_.circuit.node(b));
  }

  std::optional<Join> join_of(const Phases& phases) {
    std::optional<Join> out;
    for (std::size_t i = 0; i < phases.leads.size() && !out; ++i) {
      for (std::size_t j = i + 1; j < phases.leads.size() && !out; ++j) {
        out = together(phases, phases.leads[i], phases.leads[j]);
      }
      for (std::size_t k = 0; k < poles_.size() && !out && phases.leads.size() >= turning_field; ++k) {
        out = first_point(phases.leads[i], poles_[k]);
      }
    }
    return out;
  }

 private:
  bool ever(TerminalIndex a, TerminalIndex b) const {
    return ever_[solved_.circuit.node(a)] == ever_[solved_.circuit.node(b)];
  }

  std::optional<Join> first_point(TerminalIndex a, TerminalIndex b) {
    if (!ever(a, b)) return std::nullopt;
    for (std::size_t p = 0; p < solved_.points.size(); ++p) {
      if (joined(p, a, b)) return Join{a, b, p};
    }
    return std::nullopt;
  }

  // A motor that contacts have parted from its controller may be shorted, to brake it; never while a phase drives it.
  std::optional<Join> together(const Phases& phases, TerminalIndex a, TerminalIndex b) {
    if (phases.gives || !ever(a, b)) return first_point(a, b);
    std::size_t times = 0;
    for (std::size_t p = 0; p < solved_.points.size(); ++p) {
      if (!joined(p, a, b)) continue;
      ++times;
      if (std::any_of(driven_.begin(), driven_.end(), [&](TerminalIndex t) { return joined(p, a, t); }))
        return Join{a, b, p};
    }
    if (times == solved_.points.size() && times > 0) return Join{a, b, 0};
    return std::nullopt;
  }

  const Solved& solved_;
  ConductorPieces pieces_;
  std::vector<int> ever_;  // by node: pieces with every contact closed
  std::vector<TerminalIndex> poles_;
  std::vector<TerminalIndex> driven_;  // phases of controllers
};

// Wires of the way that joins the two, for the reader to follow.
std::string way_of(const Solved& solved, const Join& join) {
  const Circuit& circuit = solved.circuit;
  const LogicState& logic = solved.points[join.point].logic;
  const auto conducts = [&](const Branch& b) {
    if (b.type == BranchType::diode || !is_conductor(circuit, b)) return false;
    return b.type != BranchType::contact || logic.contact_closed[b.index] != 0;
  };
  std::string way;
  for (std::size_t i :
       walk_between(solved.graph, circuit, circuit.node(join.lead), circuit.node(join.other), conducts)) {
    const Branch& b = circuit.branches[i];
    if (b.type == BranchType::wire) way += (way.empty() ? "" : " -> ") + solved.loom->wires[b.index].name;
  }
  return way;
}

void judge_phases(const Solved& solved, const Phases& phases, Obligation& owed) {
  if (!phases.join) {
    owed.holds("no conductor joins its phases or ties one to a pole or to the frame");
    return;
  }
  const Loom& loom = *solved.loom;
  const Join& join = *phases.join;
  owed.broken(fmt::format("nothing but conductors joins '{}' and '{}'", loom.title(join.lead), loom.title(join.other)),
              std::nullopt, solved.describe(solved.points[join.point].situation))
      .of_wiring();
  if (const std::string way = way_of(solved, join); !way.empty()) owed.note("by way of " + way);
  owed.note("the first pulse of the output stage is a short of the bus: its transistors burst before a fuse opens")
      .fix("one lead from each phase of the controller to one terminal of the motor, and nothing else on it");
}

void judge_phase_leads(const Rule& rule, const Solved& solved, Ledger& ledger) {
  std::vector<Phases> all = phases_of(*solved.loom);
  Joins joins(solved, all);
  for (std::size_t i = 0; i < all.size(); ++i) {
    Phases& phases = all[i];
    phases.join = joins.join_of(phases);
    // One cause, one finding: what conductors join to a fault that was told already is that fault.
    const bool told = phases.join && std::any_of(all.begin(), all.begin() + static_cast<std::ptrdiff_t>(i),
                                                 [&](const Phases& earlier) {
                                                   const auto& f = earlier.join;
                                                   return f && joins.joined(f->point, f->lead, phases.join->lead);
                                                 });
    if (!told) judge_phases(solved, phases, ledger.open(rule, subject_of(*solved.loom, phases.part)));
  }
}

}  // namespace

const Rule phase_leads{
    .slug = "phase-leads",
    .group = Group::terminations,
    .severity = Severity::danger,
    .promise = "No conductor joins two phases of a motor, or ties one to a pole of a supply or to the frame.",
    .judge = judge_phase_leads,
};

}  // namespace loomproof
