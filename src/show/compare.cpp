// Verdicts, margins and test steps of two revisions, matched by rule and subject.
#include "show/compare.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "show/finding_text.h"
#include "show/paper_sheet.h"

namespace loomproof {
namespace {

int rank(Verdict v) {
  return v == Verdict::broken ? 2 : v == Verdict::undecided ? 1 : 0;
}

Verdict verdict_of(const Obligation& owed) {
  return owed.verdict.value_or(Verdict::undecided);
}

// By rule and subject; several of one pair stand in reading order, worst first, and are matched in that order.
using Key = std::pair<std::string, std::string>;
using ByKey = std::map<Key, std::vector<const Obligation*>>;

using Names = std::map<std::string, std::string>;

ByKey by_key(const Judgement& judgement, const Names& renamed) {
  ByKey out;
  for (const Obligation& owed : judgement.obligations) {
    const auto now = renamed.find(owed.subject.name);
    out[{std::string(slug_of(owed)), now == renamed.end() ? owed.subject.name : now->second}].push_back(&owed);
  }
  return out;
}

// Subjects of the old revision that have another name now, and those that are no more.
Names renamed_wires(const std::vector<WireChange>& wires) {
  Names out;
  for (const WireChange& w : wires) {
    if (w.work == WireChange::Work::label && w.changes.front().what == "name") out[w.changes.front().before] = w.name;
  }
  return out;
}

std::set<std::string> gone_subjects(const Comparison& c) {
  std::set<std::string> out;
  for (const WireChange& w : c.wires) {
    if (w.work == WireChange::Work::remove) out.insert(w.name);
  }
  for (const ThingChange& t : c.things) {
    if (t.kind == "part" && t.added == false) out.insert(t.name);
  }
  return out;
}

void compare_pair(const Key& key, const Obligation* before, const Obligation* after, Comparison& out) {
  VerdictChange change{key.first, key.second, {}, {}, false, false, {}};
  if (before) {
    change.before = verdict_of(*before);
    change.waived_before = before->set_aside();
    change.what = before->what;
  }
  if (after) {
    change.after = verdict_of(*after);
    change.waived_after = after->set_aside();
    change.what = after->what;
  }
  const int was = before && !change.waived_before ? rank(*change.before) : 0;
  const int is = after && !change.waived_after ? rank(*change.after) : 0;
  if (is > was) {
    out.worse.push_back(std::move(change));
  } else if (is < was && after && !change.waived_after) {
    out.better.push_back(std::move(change));
  } else if (is < was || change.waived_before != change.waived_after || (before && !after)) {
    out.other.push_back(std::move(change));
  } else if (before && after && before->figure && after->figure && verdict_of(*after) == Verdict::holds &&
             std::fabs(after->figure->used - before->figure->used) >= least_margin_move) {
    out.margins.push_back({key.first, key.second, *before->figure, *after->figure, after->situation});
  }
}

void compare_verdicts(const Judgement& before, const Judgement& after, Comparison& out) {
  const ByKey old_by = by_key(before, renamed_wires(out.wires)), new_by = by_key(after, {});
  const std::set<std::string> gone = gone_subjects(out);
  std::set<Key> keys;
  for (const auto& [key, list] : old_by) {
    // What held of a wire or part that is gone needs no word; what was broken of it does.
    if (!new_by.contains(key) && gone.contains(key.second) && verdict_of(*list.front()) == Verdict::holds) continue;
    keys.insert(key);
  }
  for (const auto& [key, list] : new_by) keys.insert(key);
  static const std::vector<const Obligation*> none;
  for (const Key& key : keys) {
    const auto a = old_by.find(key);
    const auto b = new_by.find(key);
    const auto& old_list = a == old_by.end() ? none : a->second;
    const auto& new_list = b == new_by.end() ? none : b->second;
    for (std::size_t i = 0; i < std::max(old_list.size(), new_list.size()); ++i) {
      compare_pair(key, i < old_list.size() ? old_list[i] : nullptr, i < new_list.size() ? new_list[i] : nullptr, out);
    }
  }
  std::stable_sort(out.worse.begin(), out.worse.end(),
                   [](const VerdictChange& x, const VerdictChange& y) { return rank(*x.after) > rank(*y.after); });
  std::stable_sort(out.margins.begin(), out.margins.end(), [](const MarginChange& x, const MarginChange& y) {
    return x.after.used - x.before.used > y.after.used - y.before.used;
  });
}

// A row of the sheet with the step that it belongs to.
struct SheetRow {
  const PaperSection* section;
  const std::vector<std::string>* row;
  std::string step;

  const std::string& cell(std::size_t i) const { return (*row)[i]; }
  std::vector<std::string> key() const { return {section->heading, step, cell(1), cell(2), cell(3)}; }
  bool is_heading() const { return cell(2).empty() && cell(3).empty() && cell(4).empty() && cell(5).empty(); }
};

std::vector<SheetRow> rows_of(const Paper& sheet) {
  std::vector<SheetRow> out;
  for (const PaperSection& section : sheet.sections) {
    std::string step;
    for (const auto& row : section.rows) {
      SheetRow here{&section, &row, step};
      if (here.is_heading()) step = here.step = row[1];
      out.push_back(std::move(here));
    }
  }
  return out;
}

void compare_steps(const Revision& before, const Revision& after, Comparison& out) {
  if (!out.electrical()) return;
  const Paper old_sheet = test_sheet(*before.solved), new_sheet = test_sheet(*after.solved);
  std::map<std::vector<std::string>, std::string> old_expected;
  for (const SheetRow& r : rows_of(old_sheet)) old_expected[r.key()] = r.cell(4) + " | " + r.cell(5);
  std::set<std::string> other_parts;
  for (const ThingChange& t : out.things) {
    if (t.kind == "part") other_parts.insert(t.name);
  }
  const auto ends_on = [&](const std::string& terminal) {
    return other_parts.contains(terminal.substr(0, terminal.find('.')));
  };
  for (const SheetRow& r : rows_of(new_sheet)) {
    if (r.is_heading()) continue;
    const std::string& heading = r.section->heading;
    const auto was = old_expected.find(r.key());
    std::string why;
    if (was == old_expected.end()) {
      why = "new";
    } else if (was->second != r.cell(4) + " | " + r.cell(5)) {
      why = "expects something else";
    } else if (heading.starts_with("A.")) {
      const bool touched = std::any_of(out.wires.begin(), out.wires.end(), [&](const WireChange& w) {
        return w.work != WireChange::Work::label && r.cell(1).starts_with(w.name) &&
               (r.cell(1).size() == w.name.size() || r.cell(1)[w.name.size()] == ' ');
      });
      if (touched) why = "the wire was worked on";
      if (why.empty() && (ends_on(r.cell(2)) || ends_on(r.cell(3)))) why = "a part at its end is another";
    } else if (heading.starts_with("C.") && ends_on(r.cell(2))) {
      why = "a part at its end is another";
    } else if (heading.starts_with("B.")) {
      why = "after every change of the loom";
    } else if (heading.starts_with("5.")) {
      why = "brake, kill and lock-out after every change";
    }
    if (why.empty()) continue;
    out.steps.push_back(
        {r.cell(0), heading, r.cell(1).empty() ? r.step : r.cell(1), r.cell(2), r.cell(3), r.cell(4), why});
  }
}

}  // namespace

Verdict Comparison::worst() const {
  Verdict out = Verdict::holds;
  for (const VerdictChange& change : worse) {
    if (rank(*change.after) > rank(out)) out = *change.after;
  }
  return out;
}

Comparison compare(const Revision& before, const Revision& after) {
  Comparison out;
  out.old_file = before.solved->loom->file;
  out.new_file = after.solved->loom->file;
  out.wires = wire_changes(*before.solved->loom, *after.solved->loom);
  out.things = thing_changes(*before.solved->loom, *after.solved->loom);
  compare_verdicts(*before.judgement, *after.judgement, out);
  compare_steps(before, after, out);
  return out;
}

}  // namespace loomproof
