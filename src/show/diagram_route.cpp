// How the wires run: each a line of its own along the grid, never on top of another, with its text in a free slot.
#include "show/diagram_route.h"

#include <algorithm>
#include <array>
#include <cstdlib>
#include <numeric>
#include <queue>

#include "show/diagram_tracks.h"

namespace loomproof::diagram {
namespace {

constexpr double corner_cost = 4;
constexpr double crossing_cost = 7;
constexpr double text_cost = 30;     // a line through another's text
constexpr double hug_cost = 1.5;     // along a block's border
constexpr double shared_cost = 120;  // two lines on one stretch: only when there is no other way

struct Direction {
  int dx, dy;
};
constexpr std::array<Direction, 4> directions{{{1, 0}, {0, 1}, {-1, 0}, {0, -1}}};

bool is_vertical(int direction) {
  return direction % 2 == 1;
}

class Router {
 public:
  explicit Router(Sheet& sheet)
      : sheet_(sheet), tracks_(sheet), best_(static_cast<std::size_t>(sheet.columns) * sheet.rows * 4) {}

  void lay(std::size_t r) {
    Run& run = sheet_.runs[r];
    const Block &a = sheet_.blocks[run.block_a], &b = sheet_.blocks[run.block_b];
    if (run.block_a == run.block_b && (run.port_a == run.port_b || a.figure == Figure::strap)) return;
    find_path(r, a.outside(a.ports[run.port_a]), a.ports[run.port_a].on_left ? 2 : 0, b.outside(b.ports[run.port_b]),
              b.ports[run.port_b].on_left ? 0 : 2);
    tracks_.put_line(r);
    tracks_.put_label(r);
  }
  void take_up(std::size_t r) { tracks_.remove(r); }

 private:
  struct Mark {
    double cost = 0;
    int from = -1;
    std::uint32_t stamp = 0;
    bool done = false;
  };
  struct Entry {
    double estimate;
    int state;
    bool operator>(const Entry& other) const {
      return estimate != other.estimate ? estimate > other.estimate : state > other.state;
    }
  };

  int state_of(const Cell& cell, int direction) const { return (cell.y * sheet_.columns + cell.x) * 4 + direction; }
  Cell cell_of(int state) const { return {state / 4 % sheet_.columns, state / 4 / sheet_.columns}; }

  /// What it costs to leave `from` by `direction` and stand on the next cell; negative when that is impossible.
  double step_cost(std::size_t r, const Cell& from, const Cell& to, int direction) const {
    if (!tracks_.inside(to) || tracks_.is_body(to)) return -1;
    double cost = 1;
    const bool vertical = is_vertical(direction);
    if (tracks_.taken(to, vertical, r) || tracks_.taken(from, vertical, r)) cost += shared_cost;
    if (tracks_.taken(to, !vertical, r)) cost += crossing_cost;
    if (tracks_.is_exit_of_other(to, r)) cost += shared_cost;
    if (vertical && tracks_.has_text({from.x, std::max(from.y, to.y)}, r)) cost += text_cost;
    if (!vertical && tracks_.has_standing_text(to, r)) cost += text_cost;
    if (tracks_.is_margin(to)) cost += hug_cost;
    return cost;
  }

  /// A line that turns on a cell that another line passes would look joined to it.
  double turn_cost(std::size_t r, const Cell& at) const {
    const bool shared = tracks_.taken(at, true, r) || tracks_.taken(at, false, r);
    return corner_cost + (shared ? shared_cost : 0);
  }

  void find_path(std::size_t r, Cell start, int start_direction, Cell goal, int goal_direction) {
    ++stamp_;
    std::priority_queue<Entry, std::vector<Entry>, std::greater<>> open;
    const auto estimate = [&](const Cell& c) {
      return static_cast<double>(std::abs(c.x - goal.x) + std::abs(c.y - goal.y));
    };
    const auto reach = [&](int state, double cost, int from) {
      Mark& mark = best_[state];
      if (mark.stamp == stamp_ && (mark.done || mark.cost <= cost)) return;
      mark = {cost, from, stamp_, false};
      open.push({cost + estimate(cell_of(state)), state});
    };
    Run& run = sheet_.runs[r];
    run.path = {start, goal};
    if (!tracks_.inside(start) || !tracks_.inside(goal)) return;
    reach(state_of(start, start_direction), 0, -1);
    const int last = state_of(goal, goal_direction);
    while (!open.empty()) {
      const int state = open.top().state;
      open.pop();
      Mark& mark = best_[state];
      if (mark.done) continue;
      mark.done = true;
      if (state == last) break;
      const Cell at = cell_of(state);
      const int heading = state % 4;
      for (const int turn : {0, 1, 3}) {
        const int direction = (heading + turn) % 4;
        if (turn != 0) {
          reach(state_of(at, direction), mark.cost + turn_cost(r, at), state);
          continue;
        }
        const Cell next{at.x + directions[direction].dx, at.y + directions[direction].dy};
        const double cost = step_cost(r, at, next, direction);
        if (cost >= 0) reach(state_of(next, direction), mark.cost + cost, state);
      }
    }
    if (best_[last].stamp != stamp_ || !best_[last].done) return;
    std::vector<Cell> path;
    for (int state = last; state >= 0; state = best_[state].from) {
      const Cell cell = cell_of(state);
      if (path.empty() || !(path.back() == cell)) path.push_back(cell);
    }
    std::reverse(path.begin(), path.end());
    run.path = corners_of(path);
  }

  static std::vector<Cell> corners_of(const std::vector<Cell>& cells) {
    std::vector<Cell> corners;
    for (const Cell& cell : cells) {
      if (corners.size() >= 2) {
        const Cell &p = corners[corners.size() - 2], &q = corners.back();
        if ((p.x == q.x && q.x == cell.x) || (p.y == q.y && q.y == cell.y)) corners.pop_back();
      }
      corners.push_back(cell);
    }
    if (corners.size() == 1) corners.push_back(corners.front());
    return corners;
  }

  Sheet& sheet_;
  Tracks tracks_;
  std::vector<Mark> best_;
  std::uint32_t stamp_ = 0;
};

int direct_length(const Sheet& sheet, const Run& run) {
  const Block &a = sheet.blocks[run.block_a], &b = sheet.blocks[run.block_b];
  const Cell from = a.outside(a.ports[run.port_a]), to = b.outside(b.ports[run.port_b]);
  return std::abs(from.x - to.x) + std::abs(from.y - to.y);
}

}  // namespace

void route_runs(Sheet& sheet, int rounds) {
  Router router(sheet);
  std::vector<std::size_t> order(sheet.runs.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  const auto rank = [&](std::size_t r) {
    const Run& run = sheet.runs[r];
    const bool both_fixed = sheet.blocks[run.block_a].fixed && sheet.blocks[run.block_b].fixed;
    return direct_length(sheet, run) + (both_fixed ? 0 : 1000);
  };
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return rank(a) < rank(b); });
  for (const std::size_t r : order) router.lay(r);
  for (int round = 0; round < rounds; ++round) {
    for (const std::size_t r : order) {
      router.take_up(r);
      router.lay(r);
    }
  }
}

Tidiness tidiness_of(const Sheet& sheet) {
  Tidiness tidiness;
  const Tracks tracks(sheet);
  for (const Run& run : sheet.runs) {
    tidiness.crowded += run.crowded ? 1 : 0;
    tidiness.corners += std::max(0, static_cast<int>(run.path.size()) - 2);
  }
  for (const Run& run : sheet.runs) {
    for (std::size_t i = 0; i + 1 < run.path.size(); ++i) {
      tidiness.length += std::abs(run.path[i].x - run.path[i + 1].x) + std::abs(run.path[i].y - run.path[i + 1].y);
    }
  }
  tidiness.crossings = tracks.crossings();
  return tidiness;
}

}  // namespace loomproof::diagram
