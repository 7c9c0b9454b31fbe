// What changed electrically between two revisions of a loom, and what the bench has to do again.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "rules/ledger.h"
#include "solve/solved.h"

namespace loomproof {

/// One attribute of a thing, before and after; an empty text = not written.
struct Change {
  std::string what;
  std::string before, after;
};

/// A wire by name. A wire that goes and one that comes with the same ends and the same cable are one that is renamed.
struct WireChange {
  enum class Work {
    cut,     // new, or its cable or length is another
    end,     // the same piece of cable, another terminal
    label,   // another name or run
    remove,  // goes
  } work = Work::cut;
  std::string name;
  bool added = false;
  std::vector<Change> changes;
};

/// A part, bundle, duty point, requirement or condition.
struct ThingChange {
  std::string kind;  // part, bundle, duty, requirement, waiver, conditions
  std::string name;
  std::optional<bool> added;  // true: new; false: gone; none: changed
  std::vector<Change> changes;
};

struct VerdictChange {
  std::string rule, subject;
  std::optional<Verdict> before, after;  // none: there was, or is, no such obligation
  bool waived_before = false, waived_after = false;
  std::string what;  // of the finding, as it is now; as it was, where it is gone
};

/// An obligation that held and holds, with another share of its limit used.
struct MarginChange {
  std::string rule, subject;
  Figure before, after;
  std::string situation;  // now
};

/// A row of the new test sheet that is new or expects something else, or that a change asks for.
struct StepAgain {
  std::string number, section, what, red, black, expected, why;
};

struct Comparison {
  std::string old_file, new_file;
  std::vector<WireChange> wires;
  std::vector<ThingChange> things;
  std::vector<VerdictChange> worse, better, other;  // other: waived, or no longer asked
  std::vector<MarginChange> margins;                // nearer to the limit first
  std::vector<StepAgain> steps;

  bool electrical() const { return !wires.empty() || !things.empty(); }
  /// The gravest verdict among what became worse; holds when nothing did.
  Verdict worst() const;
};

/// Least move of a margin that is told, as a share of the limit.
inline constexpr double least_margin_move = 0.01;

struct Revision {
  const Solved* solved = nullptr;
  const Judgement* judgement = nullptr;
};
Comparison compare(const Revision& before, const Revision& after);

std::vector<WireChange> wire_changes(const Loom& before, const Loom& after);
std::vector<ThingChange> thing_changes(const Loom& before, const Loom& after);

/// For a terminal, washed; and as one JSON document (docs/papers.md).
std::string compare_text(const Comparison&);
std::string compare_json(const Comparison&);

}  // namespace loomproof
