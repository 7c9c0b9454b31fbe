// no-return: whatever draws a current has a way for it to come and a way for it to go back.
//
// With every contact closed, both ends must reach the two poles of a source. docs/rules/no-return.md
#include <algorithm>
#include <cmath>
#include <optional>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/pole_map.h"

namespace loomproof {
namespace {

class Ways {
 public:
  explicit Ways(const Solved& solved) : solved_(solved), circuit_(solved.circuit), map_(solved) {
    piece_ = components(solved.graph, circuit_, [&](const Branch& b) {
      return is_conductor(circuit_, b) || (b.type == BranchType::resistance);
    });
    bare_ = components(solved.graph, circuit_, [&](const Branch& b) { return is_conductor(circuit_, b); });
    const auto pair = [&](PartIndex part, TerminalIndex a, TerminalIndex b, Zone zone) {
      sources_.emplace_back(piece_[circuit_.node(a)], piece_[circuit_.node(b)]);
      poles_.emplace_back(bare_[circuit_.node(a)], bare_[circuit_.node(b)]);
      owners_.push_back({part, zone});
    };
    for (const Source& s : solved.loom->elements.sources) pair(s.part, s.pos, s.neg, s.zone);
    for (const Converter& c : solved.loom->elements.converters) pair(c.part, c.out_pos, c.out_neg, Zone::low_voltage);
  }

  void judge(Obligation& owed, TerminalIndex a, TerminalIndex b, std::string_view what, bool polar) const {
    const int pa = piece_[circuit_.node(a)];
    const int pb = piece_[circuit_.node(b)];
    const Loom& loom = *solved_.loom;
    // Seen fed, supply-voltage tells it; a bus that is turned round is never charged, so that its contactor stays open.
    if (polar && is_turned(a, b) && !is_ever_fed(a, b)) {
      owed.broken(fmt::format("'{}' is wired the wrong way round: its positive to a negative pole, and its negative to "
                              "the positive one",
                              owed.subject.name))
          .note("what closes on it shorts the supply through the diodes inside")
          .as(Severity::danger);
      if (const PolePair* supply = map_.turned_behind(a, b)) {
        owed.fix(fmt::format("exchange the wires at '{}' and '{}': '{}' is what is turned", loom.title(supply->pos),
                             loom.title(supply->neg), loom.part(supply->part).name));
      } else {
        owed.fix(fmt::format("exchange the wires at '{}' and '{}'", loom.title(a), loom.title(b))).of_wiring();
      }
      return;
    }
    const int ba = bare_[circuit_.node(a)];
    const int bb = bare_[circuit_.node(b)];
    // A precharge or bleed resistor joins the two ends as well: then only conductors tell where they lead.
    const bool joined = pa == pb;
    const auto& poles = joined ? poles_ : sources_;
    const int from = joined ? ba : pa, to = joined ? bb : pb;
    if (joined) {
      // Contacts that are never closed together, as of a reversing relay, do not join the two ends.
      if (is_ever_fed(a, b)) {
        owed.holds("a way there and a way back");
        return;
      }
      const bool one_point = ba == bb;
      if (one_point || (!supply_at(poles, from) && !supply_at(poles, to))) {
        owed.broken(one_point ? fmt::format("both ends of {} '{}' are the same point", what, owed.subject.name)
                              : fmt::format("a resistance joins both ends of {} '{}', and no supply is ever across it",
                                            what, owed.subject.name))
            .fix(fmt::format("part '{}' from '{}'", loom.title(a), loom.title(b)))
            .of_wiring();
        return;
      }
    }
    // Sources in a row count as one, so reach is walked from piece to piece.
    if (tied(poles, from, to)) {
      owed.holds("a way there and a way back");
      return;
    }
    tell_lost(owed, a, b, supply_at(poles, from), supply_at(poles, to));
  }

  /// A supply with one pole beside the same pole of its like, as for both to feed one circuit, and the other on another
  /// circuit, traction or not: it ties the two.
  void judge_supplies(const Rule& rule, Ledger& ledger) const {
    for (const PolePair& s : map_.supplies()) {
      const int pos = piece_[circuit_.node(s.pos)], neg = piece_[circuit_.node(s.neg)];
      const Owner* const at_pos = supply_at(sources_, pos, s.part);
      const Owner* const at_neg = supply_at(sources_, neg, s.part);
      if (pos == neg || at_pos == nullptr || at_neg == nullptr) continue;
      if (at_pos->zone == Zone::signal || at_neg->zone == Zone::signal) continue;
      if ((at_pos->zone == Zone::traction) == (at_neg->zone == Zone::traction)) continue;
      const bool beside = has_like(s.part, pos, true) || has_like(s.part, neg, false);
      if (!beside || tied(sources_, pos, neg, s.part)) continue;
      tell_lost(ledger.open(rule, subject_of(*solved_.loom, s.part)), s.pos, s.neg, at_pos, at_neg);
    }
  }

 private:
  // By conductors alone, with every contact closed.
  bool is_turned(TerminalIndex pos, TerminalIndex neg) const {
    const int at_pos = bare_[circuit_.node(pos)], at_neg = bare_[circuit_.node(neg)];
    const auto has = [&](int a, int b) {
      return std::find(poles_.begin(), poles_.end(), std::pair(a, b)) != poles_.end();
    };
    return at_pos != at_neg && has(at_neg, at_pos) && !has(at_pos, at_neg);
  }

  bool is_ever_fed(TerminalIndex a, TerminalIndex b) const {
    constexpr double no_voltage_v = 0.5;
    return std::any_of(solved_.points.begin(), solved_.points.end(), [&](const OperatingPoint& point) {
      const auto v = voltage(circuit_, point, a, b);
      return v && std::fabs(v->value) > no_voltage_v;
    });
  }

  struct Owner {
    PartIndex part;
    Zone zone;
  };
  using Pairs = std::vector<std::pair<int, int>>;

  // The supply that has a pole in this piece, sensor supplies last; none of `but`.
  const Owner* supply_at(const Pairs& poles, int piece, std::optional<PartIndex> but = {}) const {
    const Owner* out = nullptr;
    for (std::size_t i = 0; i < poles.size(); ++i) {
      if ((poles[i].first != piece && poles[i].second != piece) || owners_[i].part == but) continue;
      if (owners_[i].zone != Zone::signal) return &owners_[i];
      out = &owners_[i];
    }
    return out;
  }

  // One end on one supply, the other on another or nowhere.
  void tell_lost(Obligation& owed, TerminalIndex a, TerminalIndex b, const Owner* at_a, const Owner* at_b) const {
    const Loom& loom = *solved_.loom;
    // A controller's sensor supply hangs on its ground alone: it is no supply for what is not a sensor.
    if (at_a != nullptr && at_b != nullptr) {
      if (at_a->zone == Zone::signal) at_a = nullptr;
      if (at_b->zone == Zone::signal) at_b = nullptr;
    }
    const TerminalIndex lost = at_a != nullptr ? b : a;
    if (at_a == nullptr && at_b == nullptr) {
      owed.broken(fmt::format("no source reaches '{}'", owed.subject.name));
    } else if (at_a != nullptr && at_b != nullptr) {
      owed.broken(fmt::format("'{}' lies on the supply of '{}' and '{}' on that of '{}', which have no pole in common",
                              loom.title(a), loom.part(at_a->part).name, loom.title(b), loom.part(at_b->part).name))
          .note("no current can come back through it");
      see_wires(owed, a);
      see_wires(owed, b);
      if ((at_a->zone == Zone::traction) != (at_b->zone == Zone::traction)) {
        owed.note("it ties the traction circuit to the other: one chafed wire more puts the pack's voltage there")
            .as(Severity::danger);
      }
      owed.fix(fmt::format("wire '{}' and '{}' to the two poles of one supply, the one that it is made for",
                           loom.title(a), loom.title(b)))
          .of_wiring();
      return;
    } else {
      owed.broken(fmt::format("current can reach '{}' and has no way on from '{}'", loom.title(at_a != nullptr ? a : b),
                              loom.title(lost)));
    }
    owed.fix(fmt::format("wire '{}' to the other pole of its supply", loom.title(lost))).of_wiring();
  }

  void see_wires(Obligation& owed, TerminalIndex t) const {
    for (const Wire& wire : solved_.loom->wires) {
      if (wire.from == t || wire.to == t)
        owed.see(wire.at, fmt::format("'{}' lands on '{}'", wire.name, solved_.loom->title(t)));
    }
  }

  // Whether another supply of the zone of this one has its positive, or its negative, in this piece.
  bool has_like(PartIndex part, int piece, bool positive) const {
    const auto own = std::find_if(owners_.begin(), owners_.end(),
                                  [&](const Owner& o) { return o.part == part && o.zone != Zone::signal; });
    for (std::size_t i = 0; own != owners_.end() && i < owners_.size(); ++i) {
      const int pole = positive ? sources_[i].first : sources_[i].second;
      if (owners_[i].part != part && owners_[i].zone == own->zone && pole == piece) return true;
    }
    return false;
  }

  // By supplies in a row, but for those of one part.
  bool tied(const Pairs& poles, int from, int to, std::optional<PartIndex> but = {}) const {
    std::vector<int> seen{from};
    for (std::size_t i = 0; i < seen.size(); ++i) {
      for (std::size_t k = 0; k < poles.size(); ++k) {
        if (owners_[k].part == but) continue;
        const auto [a, b] = poles[k];
        const int next = a == seen[i] ? b : b == seen[i] ? a : -1;
        if (next >= 0 && std::find(seen.begin(), seen.end(), next) == seen.end()) seen.push_back(next);
      }
      if (seen[i] == to) return true;
    }
    return false;
  }

  const Solved& solved_;
  const Circuit& circuit_;
  std::vector<int> piece_;
  std::vector<int> bare_;  // pieces without the resistors
  Pairs sources_;
  Pairs poles_;                // of the same supplies, by bare piece
  std::vector<Owner> owners_;  // of the same supplies
  PoleMap map_;
};

void judge_no_return(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Ways ways(solved);
  const auto judged = [&](const Element& element, TerminalIndex a, TerminalIndex b, std::string_view what, bool polar) {
    if (!is_wired(loom, a) && !is_wired(loom, b)) return;  // loose-end speaks of it
    ways.judge(ledger.open(rule, subject_of(loom, element, loom.kind_of(loom.part(element.part)).inside.size() > 2)), a,
               b, what, polar);
  };
  for (const Load& load : loom.elements.loads) judged(load, load.pos, load.neg, "load", !load.channel.empty());
  for (const Coil& coil : loom.elements.coils) judged(coil, coil.a, coil.b, "coil", false);
  for (const Converter& c : loom.elements.converters) judged(c, c.in_pos, c.in_neg, "input", true);
  ways.judge_supplies(rule, ledger);
}

}  // namespace

const Rule no_return{
    .slug = "no-return",
    .group = Group::completeness,
    .severity = Severity::nuisance,
    .promise = "Whatever draws a current has a way for it to come and a way for it to go back.",
    .judge = judge_no_return,
};

}  // namespace loomproof
