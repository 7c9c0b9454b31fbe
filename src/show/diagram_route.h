// How the wires run: each a line of its own along the grid, never on top of another, with its text in a free slot.
#pragma once

#include <cstdint>
#include <vector>

#include "show/diagram_sheet.h"
#include "show/diagram_tracks.h"

namespace loomproof::diagram {

/// Lays one run at a time among those that lie already. A cost of 2 is one cell of line.
class Router {
 public:
  explicit Router(Sheet&);

  static constexpr int any_cost = 1 << 30;

  /// Sets `path` and `label` of the run by the cheapest way.
  /// @return false, and nothing is laid, when every way costs more than `most`
  bool lay(std::size_t run, int most = any_cost);
  void take_up(std::size_t run);
  /// Puts back what take_up took; the run's path and label are what they were.
  void put_back(std::size_t run);
  /// What the run costs where it lies now: length, corners, crossings, shared stretches, and a text without room.
  int cost_of(std::size_t run) const;

  Tracks& tracks() { return tracks_; }

 private:
  struct Mark {
    int cost = 0;
    int from = -1;
    std::uint32_t stamp = 0;
    bool done = false;
  };

  int step_cost(std::size_t run, const Cell& from, const Cell& to, int direction) const;
  int turn_cost(std::size_t run, const Cell& at) const;
  bool find_path(std::size_t run, Cell start, int start_direction, Cell goal, int goal_direction, int most);

  Sheet& sheet_;
  Tracks tracks_;
  std::vector<Mark> best_;
  std::vector<std::vector<int>> buckets_;  // open states by estimated cost
  std::uint32_t stamp_ = 0;
};

/// Lays every run; blocks must be placed. Main way first, then short before long, then rounds of taking up each line
/// and laying it again among the others.
/// @param rounds  of laying again
void route_runs(Sheet&, Router&, int rounds);

/// The run is an earth stub, a tag or a strap: it has no path of its own.
bool is_stub(const Sheet&, const Run&);

}  // namespace loomproof::diagram
