// sneak-path: no load is fed through another one.
//
// Every load and coil that is on, or glows, has a way of closed conductors to a pole of a supply on both sides. Where
// one side ends at other loads, the current comes through them. docs/rules/sneak-path.md
#include <cmath>
#include <numeric>
#include <utility>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/light.h"
#include "solve/union_find.h"
#include "units/print.h"

namespace loomproof {
namespace {

// What conductors and resistors join. A resistor is no load that is meant to be switched: what it feeds is fed on
// purpose.
class Pieces {
 public:
  explicit Pieces(const Solved& solved) : circuit_(solved.circuit), without_(solved.circuit.nodes) {
    std::iota(without_.begin(), without_.end(), 0);
    for (const Branch& b : circuit_.branches) {
      if (b.type == BranchType::contact) {
        contacts_.push_back(&b);
      } else if (is_conductor(circuit_, b) || b.type == BranchType::resistance) {
        without_[top(without_, b.a)] = top(without_, b.b);
      }
    }
    const auto add = [&](TerminalIndex t) { poles_.push_back(circuit_.node(t)); };
    for (const Source& s : circuit_.loom->elements.sources) add(s.pos), add(s.neg);
    for (const Converter& c : circuit_.loom->elements.converters) add(c.out_pos), add(c.out_neg);
  }

  void look(const OperatingPoint& point) {
    up_ = without_;
    for (const Branch* b : contacts_) {
      if (point.logic.contact_closed[b->index] != 0) up_[top(up_, b->a)] = top(up_, b->b);
    }
    is_pole_.assign(up_.size(), 0);
    for (int node : poles_) is_pole_[top(up_, node)] = 1;
  }
  bool reaches_pole(int node) { return is_pole_[top(up_, node)] != 0; }

 private:
  const Circuit& circuit_;
  std::vector<int> without_, up_;  // by node; without the contacts, and with those that are closed
  std::vector<const Branch*> contacts_;
  std::vector<int> poles_;  // nodes
  std::vector<char> is_pole_;
};

struct Sneak {
  const OperatingPoint* point = nullptr;
  double v = 0;
  bool positive_side = false;  // the side that lacks its own way
};

void judge_sneak_path(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Circuit& circuit = solved.circuit;
  const auto& branches = circuit.branches;
  // What may be fed, but for what a duty point drives.
  std::vector<std::size_t> fed;
  for (std::size_t i = 0; i < branches.size(); ++i) {
    const Branch& b = branches[i];
    const bool is_load = b.type == BranchType::load && loom.elements.loads[b.index].channel.empty();
    if (is_load || b.type == BranchType::coil) fed.push_back(i);
  }
  std::vector<Sneak> seen(branches.size());
  Pieces pieces(solved);
  for (const OperatingPoint& point : solved.points) {
    if (point.situation.duty) continue;
    bool looked = false;
    for (std::size_t i : fed) {
      const Branch& b = branches[i];
      if (point.piece[b.a] != point.piece[b.b]) continue;
      const double v = std::fabs(point.node_v[b.a] - point.node_v[b.b]);
      const Datum& rated =
          b.type == BranchType::load ? loom.elements.loads[b.index].rated_v : loom.elements.coils[b.index].volts_v;
      const bool held_in = b.type == BranchType::coil && point.logic.coil_on[b.index] != 0;
      if ((!held_in && v < glows_from * (rated ? *rated : assumed_rated_v)) || v <= seen[i].v) continue;
      if (!std::exchange(looked, true)) pieces.look(point);
      const bool a = pieces.reaches_pole(b.a), other = pieces.reaches_pole(b.b);
      if (a && other) continue;
      seen[i] = {&point, v, !a};
    }
  }
  for (std::size_t i : fed) {
    const Branch& b = branches[i];
    const bool is_load = b.type == BranchType::load;
    const Element& e = is_load ? static_cast<const Element&>(loom.elements.loads[b.index])
                               : static_cast<const Element&>(loom.elements.coils[b.index]);
    Obligation& owed = ledger.open(
        rule, subject_of(loom, e, is_load && e.name != "body" && e.name != "light" && e.name != "filament"));
    const Sneak& s = seen[i];
    if (s.point == nullptr) {
      owed.holds("fed by its own way in every situation");
      continue;
    }
    const bool coil_on = !is_load && s.point->logic.coil_on[b.index] != 0;
    owed.broken(fmt::format("'{}' gets {} through another load", owed.subject.name, show(Volt(s.v))), std::nullopt,
                solved.describe(s.point->situation))
        .note(s.positive_side ? "its feed is open there, and no closed contact leads to it"
                              : "its return is open there, and no closed contact leads from it")
        .fix("switch it where nothing else hangs on the wire behind the contact, or part the feeds by diodes");
    if (coil_on) owed.as(Severity::danger).note("and that is enough to hold it in");
  }
}

}  // namespace

const Rule sneak_path{
    .slug = "sneak-path",
    .group = Group::control,
    .severity = Severity::nuisance,
    .promise = "No load is fed through another one.",
    .judge = judge_sneak_path,
};

}  // namespace loomproof
