// The ledger: every obligation that a rule takes on, and the one verdict that each ends in.
#pragma once

#include <deque>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "model/loom.h"

namespace loomproof {

struct Rule;
struct Solved;

enum class Severity { danger, damage, nuisance, paperwork };
enum class Group {
  conductors,
  protection,
  source,        // source and charging
  inrush,        // inrush and contacts
  control,       // control and interlocks
  insulation,    // insulation and zones
  terminations,  // terminations and connectors
  low_voltage,   // low-voltage supply
  completeness,
};
enum class Verdict { holds, broken, undecided };

std::string_view name_of(Severity);
std::string_view name_of(Group);
std::string_view name_of(Verdict);

/// What an obligation is about: the name as the user wrote it and where; a wire or a part for the diagram to mark.
struct Subject {
  std::string name;
  Place at;
  std::optional<WireIndex> wire;
  std::optional<PartIndex> part;
};

/// A computed figure against its limit. `used` is the share of the limit that is used up: below 1 holds, above 1 is
/// past it, whichever way the limit points (a floor gives limit / figure).
struct Figure {
  std::string value;  // "131 degC"
  std::string limit;  // "105 degC"
  double used = 0;
};

struct Note {
  Place at;  // nowhere: about the whole
  std::string text;
};

struct Obligation {
  const Rule* rule = nullptr;
  Subject subject;
  std::optional<Verdict> verdict;  // none only until the rule decides
  std::string what;                // first line of a finding, after "severity: slug: "
  std::optional<Figure> figure;
  std::string situation;  // "full pack, key on, climb"; empty where no situation matters
  std::vector<Note> notes;
  std::string mend;                  // what to do; for undecided: what to write and where
  std::vector<std::string> moves;    // of a story whose circuit remembers: from rest, switch by switch
  std::vector<WireIndex> path;       // of a story: the wires of its current, for the diagram to mark
  std::string waived;                // the user's reason, when waived
  std::optional<Severity> severity;  // other than the rule's own
  bool wiring = false;               // names how something is connected, not what is computed to come of it

  /// Decides: within the limit.
  Obligation& holds(Figure figure, std::string situation = {});
  /// Decides: nothing to compute, the thing is there (or is not), as `what` says.
  Obligation& holds(std::string what);
  /// Decides: past the limit. `what` is a whole sentence with the figures in it.
  Obligation& broken(std::string what, std::optional<Figure> figure = {}, std::string situation = {});
  /// Decides: the datum that is missing, in words ("insulation of 'T4'"), and where to write it.
  Obligation& undecided(std::string what, std::string mend);
  Obligation& see(Place at, std::string text);
  Obligation& note(std::string text);
  Obligation& fix(std::string text);
  Obligation& as(Severity);
  /// The finding is read from the wiring itself: an end that leads nowhere, a part turned round, a wire on the wrong
  /// point. Such a finding names what a person did; others tell what comes of it, so that it is read before them.
  Obligation& of_wiring();

  /// The severity that counts: its own, or else its rule's.
  Severity weight() const;
  /// A finding that the user waived; an obligation that holds needs no waiver and counts as holding.
  bool set_aside() const { return !waived.empty() && verdict != Verdict::holds; }
};

/// Broken before undecided before holds; danger first; of one weight what is read from the wiring first, terminations
/// before all; then by place, rule and subject. A finding of the wiring stands as early as the gravest that speaks of the same part or wire: what
/// is not connected as it was meant explains that one, and mending it first may end both. An obligation that was left
/// open sorts with the undecided.
void sort_for_reading(std::vector<Obligation>&);

/// An assumption that the tool made for the user, printed once.
struct Assumption {
  std::string text;  // "insulation of 'T4' taken as pvc-70"
  Place at;          // the thing that lacks the datum
  bool operator==(const Assumption&) const = default;
};

/// A single point of failure that no other wiring removes: only doubling the part does.
struct SinglePoint {
  std::string fault;    // "'key.blade' welded"
  std::string happens;  // "'drive' gives torque with 'key' off"
  bool operator==(const SinglePoint&) const = default;
};

/// How much was looked at, said aloud in every output.
struct Coverage {
  std::size_t situations_covered = 0;
  std::size_t situations_possible = 0;  // equal when exhaustive
  std::string left_out;                 // in words, when not
  std::string in_between;               // in words: why those that were not settled need not be
  std::size_t single_faults = 0;        // each tried in every situation that it can be seen in
  std::size_t fault_states = 0;         // switch states x charges of what is watched, without a fault
  std::size_t fault_points = 0;         // settled with a fault in
  std::size_t fault_pairs = 0;          // of a fault and what must never be
  std::size_t fault_bounded = 0;        // of these: ruled out in every state at once, by bounds on the voltages
  std::size_t fault_cut = 0;   // of (single_faults x watched cones): pairs that cannot meet and were not settled
  std::string fault_left_out;  // in words, when not exhaustive
};

class Ledger {
 public:
  /// A reference that stays good as more are opened.
  Obligation& open(const Rule&, Subject);
  void assume(std::string text, Place at);
  /// Noted once.
  void single_point(SinglePoint);

  const std::deque<Obligation>& obligations() const { return obligations_; }
  const std::vector<Assumption>& assumptions() const { return assumptions_; }
  const std::vector<SinglePoint>& single_points() const { return single_points_; }
  std::deque<Obligation>& all() { return obligations_; }

 private:
  std::deque<Obligation> obligations_;
  std::vector<Assumption> assumptions_;
  std::vector<SinglePoint> single_points_;
};

/// What `check` ends with: every obligation decided, waivers applied, in the order in which a person reads them
/// (see sort_for_reading).
struct Judgement {
  std::vector<Obligation> obligations;
  std::vector<Assumption> assumptions;
  std::vector<SinglePoint> single_points;  // those that remain, in the order of the rules
  Coverage coverage;

  std::size_t count(Verdict) const;  // waived ones are not counted
  std::size_t waived() const;
  /// Broken and undecided ones that are not waived, in reading order.
  std::vector<const Obligation*> findings() const;
  /// The `n` obligations that hold and have the least left to their limit.
  std::vector<const Obligation*> closest(std::size_t n) const;
};

/// Runs every rule of the list over the solved loom. An obligation that a rule left open becomes undecided: silence is
/// never a pass.
Judgement judge(const Solved&);

}  // namespace loomproof
