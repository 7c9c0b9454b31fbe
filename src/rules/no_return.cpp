// no-return: whatever draws a current has a way for it to come and a way for it to go back.
//
// With every contact closed, both ends must reach the two poles of a source. docs/rules/no-return.md
#include <algorithm>
#include <cmath>

#include "rules/list.h"
#include "rules/subject.h"

namespace loomproof {
namespace {

class Ways {
 public:
  explicit Ways(const Solved& solved) : solved_(solved), circuit_(solved.circuit) {
    piece_ = components(solved.graph, circuit_, [&](const Branch& b) {
      return is_conductor(circuit_, b) || (b.type == BranchType::resistance);
    });
    bare_ = components(solved.graph, circuit_, [&](const Branch& b) { return is_conductor(circuit_, b); });
    const auto pair = [&](TerminalIndex a, TerminalIndex b) {
      sources_.emplace_back(piece_[circuit_.node(a)], piece_[circuit_.node(b)]);
      poles_.emplace_back(bare_[circuit_.node(a)], bare_[circuit_.node(b)]);
    };
    for (const Source& s : solved.loom->elements.sources) pair(s.pos, s.neg);
    for (const Converter& c : solved.loom->elements.converters) pair(c.out_pos, c.out_neg);
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
          .fix(fmt::format("exchange the wires at '{}' and '{}'", loom.title(a), loom.title(b)))
          .as(Severity::danger);
      return;
    }
    if (pa == pb) {
      // Contacts that are never closed together, as of a reversing relay, do not join the two ends.
      if (is_ever_fed(a, b)) {
        owed.holds("a way there and a way back");
        return;
      }
      const bool one_point = bare_[circuit_.node(a)] == bare_[circuit_.node(b)];
      owed.broken(one_point ? fmt::format("both ends of {} '{}' are the same point", what, owed.subject.name)
                            : fmt::format("a resistance joins both ends of {} '{}', and no supply is ever across it",
                                          what, owed.subject.name))
          .fix(fmt::format("part '{}' from '{}'", loom.title(a), loom.title(b)));
      return;
    }
    // Sources in a row count as one, so reach is walked from piece to piece.
    if (tied(pa, pb)) {
      owed.holds("a way there and a way back");
      return;
    }
    const bool a_fed = touches_source(pa);
    const bool b_fed = touches_source(pb);
    const TerminalIndex lost = a_fed ? b : a;
    owed.broken(a_fed || b_fed ? fmt::format("current can reach '{}' and has no way on from '{}'",
                                             loom.title(a_fed ? a : b), loom.title(lost))
                               : fmt::format("no source reaches '{}'", owed.subject.name))
        .fix(fmt::format("wire '{}' to the other pole of its supply", loom.title(lost)));
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

  bool touches_source(int piece) const {
    return std::any_of(sources_.begin(), sources_.end(),
                       [&](const auto& s) { return s.first == piece || s.second == piece; });
  }

  bool tied(int from, int to) const {
    std::vector<int> seen{from};
    for (std::size_t i = 0; i < seen.size(); ++i) {
      for (const auto& [a, b] : sources_) {
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
  std::vector<std::pair<int, int>> sources_;
  std::vector<std::pair<int, int>> poles_;  // of the same supplies, by bare piece
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
