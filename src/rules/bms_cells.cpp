// bms-cells: a battery management sees every cell, each through its own lead, and stops before they are empty.
//
// docs/rules/bms-cells.md
#include <algorithm>
#include <cmath>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/cell_levels.h"
#include "solve/pack_duty.h"
#include "units/print.h"

namespace loomproof {
namespace {

// Share of the empty voltage that a cut-off may go down to: under load a cell sags below what it shows at rest (common
// practice, no source).
constexpr double least_share_of_empty = 0.9;

using Levels = std::vector<std::optional<CellLevel>>;

// A battery management: the load that it is for the cells between which it lies.
struct Watcher {
  const Load& load;
  int cells = 0;  // that it is made for
  std::string name;
};

std::vector<Watcher> watchers_of(const Loom& loom) {
  std::vector<Watcher> out;
  for (const Load& load : loom.elements.loads) {
    const Part& part = loom.part(load.part);
    const auto cells = part.number("cells");
    if (load.name == "watch" && cells) out.push_back({load, static_cast<int>(std::lround(*cells)), part.name});
  }
  return out;
}

Subject subject_part_of(const Loom& loom, const Watcher& w, const char* what) {
  Subject subject = subject_of(loom, w.load.part);
  subject.name += what;
  return subject;
}

std::string counted(int cells) {
  return fmt::format("{} cell{}", cells, cells == 1 ? "" : "s");
}

Place place_written(const Loom& loom, const Watcher& w, const char* attribute) {
  const Part& part = loom.part(w.load.part);
  const auto* written = part.find(attribute);
  return written ? written->at : part.at;
}

// Whether the cells between its two poles are as many as it is made for.
void judge_count(const Loom& loom, const Watcher& w, const std::optional<CellLevel>& top, Obligation& owed) {
  const std::string poles = fmt::format("'{}' and '{}'", loom.title(w.load.neg), loom.title(w.load.pos));
  if (!top) {
    owed.undecided(fmt::format("no pack of known cells lies between {}", poles),
                   "lead both to taps of the pack, and give the pack its `series`");
    return;
  }
  if (top->cells == w.cells) {
    owed.holds(fmt::format("{} as it is made for", counted(top->cells)));
    return;
  }
  if (top->cells <= 0) {
    owed.broken(fmt::format("'{}' does not lie above '{}', and '{}' is for {}", loom.title(w.load.pos),
                            loom.title(w.load.neg), w.name, counted(w.cells)))
        .of_wiring()
        .note("what it measures is of no cell, and its input burns")
        .fix(
            fmt::format("the lowest tap to '{}', the highest to '{}'", loom.title(w.load.neg), loom.title(w.load.pos)));
    return;
  }
  const bool fewer = top->cells < w.cells;
  owed.broken(fmt::format("'{}' is for {} and {} lie between {}", w.name, counted(w.cells), counted(top->cells), poles))
      .of_wiring()
      .note(fewer ? "it takes the cells it does not find for empty or faulty, or is told to pass them over"
                  : "no one sees a cell too many: it is overcharged and driven flat with nothing to stop it")
      .see(place_written(loom, w, "cells"), "cells that it is made for")
      .fix(fmt::format("a battery management for as many cells as the pack has in series, from its lowest tap to its "
                       "highest"));
}

// One at a time, since leads that are exchanged make two cells look good that are not.
void judge_taps(const Rule& rule, const Loom& loom, const Circuit& circuit, const Watcher& w, const Levels& levels,
                Ledger& ledger) {
  for (const Resistance& sense : loom.elements.resistances) {
    if (sense.part != w.load.part || !sense.name.starts_with("sense") || !is_wired(loom, sense.a)) continue;
    const int wanted = std::stoi(sense.name.substr(5));
    Subject subject = subject_of(loom, sense.part);
    subject.name = loom.title(sense.a);
    const std::string base = loom.title(w.load.neg);
    Obligation& owed = ledger.open(rule, std::move(subject));
    const auto& level = levels[circuit.node(sense.a)];
    if (!level) {
      owed.undecided(fmt::format("'{}' leads to no tap of a pack of known cells", owed.subject.name),
                     fmt::format("lead it to the tap {} above '{}'", counted(wanted), base));
    } else if (level->cells == wanted) {
      owed.holds(fmt::format("{} above its negative", counted(level->cells)));
    } else {
      owed.broken(fmt::format("'{}' lies {} above '{}' and stands for {}", owed.subject.name, counted(level->cells),
                              base, wanted))
          .of_wiring()
          .note("it takes one cell for another: the weak one is hidden, and at the lead a wrong voltage burns it")
          .fix(fmt::format("lead it to the tap {} above '{}'", counted(wanted), base));
    }
  }
}

// The voltage at which it parts the drive, against that at which its cells are empty by what the pack says.
void judge_cut_off(const Loom& loom, const Watcher& w, const std::optional<CellLevel>& top, Obligation& owed) {
  const auto cut_off_v = loom.part(w.load.part).number("cut_off");
  if (!cut_off_v) {
    owed.undecided(fmt::format("the voltage at which '{}' stops the drive is not given", w.name),
                   fmt::format("write `cut_off:` in part '{}'", w.name));
    return;
  }
  if (!top || top->cells <= 0 || !top->empty_known) {
    owed.undecided(fmt::format("at which voltage the cells that '{}' sees are empty is not known", w.name),
                   "give the pack its `series` and `cell_empty`, and lead both poles to its taps");
    return;
  }
  const double least_v = least_share_of_empty * top->empty_v;
  const Figure figure{show(Volt(*cut_off_v)), show(Volt(least_v)), used_of_floor(*cut_off_v, least_v)};
  if (figure.used <= 1) {
    owed.holds(fmt::format("stops at {}, cells empty at {}", figure.value, show(Volt(top->empty_v))));
    return;
  }
  owed.broken(fmt::format("'{}' stops the drive at {}, {} a cell, and its cells are empty at {}", w.name, figure.value,
                          show(Volt(*cut_off_v / top->cells)), show(Volt(top->empty_v))),
              figure, "emptying pack")
      .note("cells driven below empty are damaged, and short at the next charging")
      .see(place_written(loom, w, "cut_off"), "where it stops")
      .fix(fmt::format("a cut-off of {} or more", show(Volt(top->empty_v))));
}

// Branches of conductor between a point and the nearest of a pack's own, its taps among them.
std::size_t way_to(const Solved& solved, const PackPoles& pack, int from) {
  std::size_t least = solved.circuit.branches.size();
  for (const Source& s : solved.loom->elements.sources) {
    if (s.part != pack.part) continue;
    for (const int to : {solved.circuit.node(s.neg), solved.circuit.node(s.pos)}) {
      const auto walk = walk_between(solved.graph, solved.circuit, from, to,
                                     [&](const Branch& b) { return is_conductor(solved.circuit, b); });
      if (from == to || !walk.empty()) least = std::min(least, walk.size());
    }
  }
  return least;
}

// A pack as a battery management finds it: its lowest cell counted from the management's negative, and how far away.
struct Sighted {
  std::size_t pack = 0;
  int bottom = 0, cells = 0;
  std::size_t way = 0;

  bool beside(const Sighted& other) const {
    return bottom < other.bottom + other.cells && other.bottom < bottom + cells;
  }
};

int cells_of(const Loom& loom, const PackPoles& pack) {
  return static_cast<int>(std::lround(loom.part(pack.part).number("series").value_or(0)));
}

// Of packs in parallel it sees the one that its leads touch: the others' cells are no cells of that one.
std::vector<Sighted> sighted(const Solved& solved, const std::vector<PackPoles>& packs, const Watcher& w,
                             const Levels& levels) {
  const int low = solved.circuit.node(w.load.neg), high = solved.circuit.node(w.load.pos);
  std::vector<Sighted> out;
  for (std::size_t k = 0; k < packs.size(); ++k) {
    if (!levels[packs[k].neg]) continue;
    out.push_back({k, levels[packs[k].neg]->cells, cells_of(*solved.loom, packs[k]),
                   way_to(solved, packs[k], low) + way_to(solved, packs[k], high)});
  }
  const std::vector<Sighted> all = out;
  std::erase_if(out, [&](const Sighted& s) {
    return std::any_of(all.begin(), all.end(), [&](const Sighted& o) { return o.way < s.way && o.beside(s); });
  });
  return out;
}

// By pack, and by cell from its negative: whether a battery management lies across it.
std::vector<std::vector<char>> seen_cells(const Solved& solved, const std::vector<PackPoles>& packs,
                                          const std::vector<Watcher>& watchers) {
  std::vector<std::vector<char>> seen;
  for (const PackPoles& pack : packs) seen.emplace_back(cells_of(*solved.loom, pack), 0);
  for (const Watcher& w : watchers) {
    const Levels levels = cell_levels(solved.circuit, solved.graph, solved.circuit.node(w.load.neg));
    const auto& top = levels[solved.circuit.node(w.load.pos)];
    if (!top) continue;
    for (const Sighted& s : sighted(solved, packs, w, levels)) {
      for (int n = std::max(0, -s.bottom); n < std::min(s.cells, top->cells - s.bottom); ++n) seen[s.pack][n] = 1;
    }
  }
  return seen;
}

// No battery management lies across any of its cells. Where there is none in the file at all, one may sit inside the
// pack; where there is one for other cells, or where its leads go is not known, that is the likelier reason.
void judge_unwatched(const Part& pack, const std::vector<Watcher>& watchers, bool all_placed, Obligation& owed) {
  const std::string inside = fmt::format(
      "`watched_inside: true` in part '{}' where a management of its own is built in "
      "that parts it from everything",
      pack.name);
  if (watchers.empty() || !all_placed) {
    owed.undecided(fmt::format("what watches the cells of '{}' is not told", pack.name),
                   fmt::format("add a battery management and lead it to the taps, or write {}", inside));
    return;
  }
  owed.broken(fmt::format("no battery management watches any cell of '{}'", pack.name))
      .note("it is overcharged and driven flat with nothing to stop it, and burns at the next charging")
      .fix(fmt::format("a battery management across its cells too; or {}", inside));
}

void judge_watched(const Rule& rule, const Solved& solved, const std::vector<Watcher>& watchers, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Circuit& circuit = solved.circuit;
  const bool all_placed = std::all_of(watchers.begin(), watchers.end(), [&](const Watcher& w) {
    const Levels levels = cell_levels(circuit, solved.graph, circuit.node(w.load.neg));
    return levels[circuit.node(w.load.pos)].has_value();
  });
  const std::vector<PackPoles> packs = packs_of(circuit);
  const auto all_seen = seen_cells(solved, packs, watchers);
  for (std::size_t k = 0; k < packs.size(); ++k) {
    const Part& part = loom.part(packs[k].part);
    Obligation& owed = ledger.open(rule, subject_of(loom, packs[k].part));
    if (part.flag("watched_inside").value_or(false)) {
      owed.holds("watched by a management inside it, as the file says");
      continue;
    }
    const std::vector<char>& seen = all_seen[k];
    const auto first = std::find(seen.begin(), seen.end(), 0);
    const auto blind = std::count(seen.begin(), seen.end(), 0);
    if (blind == static_cast<std::ptrdiff_t>(seen.size())) {
      judge_unwatched(part, watchers, all_placed, owed);
    } else if (blind == 0) {
      owed.holds("every cell is watched");
    } else {
      owed.broken(fmt::format("{} of '{}' in series {} watched by nothing, the first is number {} from its negative",
                              counted(static_cast<int>(blind)), owed.subject.name, blind == 1 ? "is" : "are",
                              first - seen.begin() + 1))
          .of_wiring()
          .note("it is overcharged and driven flat with nothing to stop it")
          .fix("lead the poles of the battery management to the lowest and the highest tap");
    }
  }
}

void judge_bms_cells(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const std::vector<Watcher> watchers = watchers_of(loom);
  for (const Watcher& w : watchers) {
    const Levels levels = cell_levels(solved.circuit, solved.graph, solved.circuit.node(w.load.neg));
    const auto& top = levels[solved.circuit.node(w.load.pos)];
    judge_count(loom, w, top, ledger.open(rule, subject_part_of(loom, w, ".cells")));
    judge_taps(rule, loom, solved.circuit, w, levels, ledger);
    judge_cut_off(loom, w, top, ledger.open(rule, subject_part_of(loom, w, ".cut_off")));
  }
  judge_watched(rule, solved, watchers, ledger);
}

}  // namespace

const Rule bms_cells{
    .slug = "bms-cells",
    .group = Group::source,
    .severity = Severity::danger,
    .promise = "A battery management sees every cell through its own lead, and stops the drive before they are empty.",
    .judge = judge_bms_cells,
};

}  // namespace loomproof
