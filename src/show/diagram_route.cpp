// How the wires run: each a line of its own along the grid, never on top of another, with its text in a free slot.
#include "show/diagram_route.h"

#include <algorithm>
#include <array>
#include <cstdlib>
#include <numeric>

namespace loomproof::diagram {
namespace {

constexpr int cell_cost = 2;
constexpr int corner_cost = 8;
constexpr int crossing_cost = 14;
constexpr int text_cost = 70;     // a line through another's text
constexpr int hug_cost = 3;       // along a block's border
constexpr int stray_cost = 6;     // a traction line outside its region
constexpr int shared_cost = 300;  // two lines on one stretch: only when there is no other way
constexpr int beside_cost = 10;   // text beside an upright stretch, not over a level one
constexpr int crowded_cost = 150;

struct Direction {
  int dx, dy;
};
constexpr std::array<Direction, 4> directions{{{1, 0}, {0, 1}, {-1, 0}, {0, -1}}};

bool is_vertical(int direction) {
  return direction % 2 == 1;
}

int direction_of(const Cell& from, const Cell& to) {
  return to.x > from.x ? 0 : to.y > from.y ? 1 : to.x < from.x ? 2 : 3;
}

std::vector<Cell> only_corners(const std::vector<Cell>& cells) {
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

int direct_length(const Sheet& sheet, const Run& run) {
  const Block &a = sheet.blocks[run.block_a], &b = sheet.blocks[run.block_b];
  const Cell from = a.outside(a.ports[run.port_a]), to = b.outside(b.ports[run.port_b]);
  return std::abs(from.x - to.x) + std::abs(from.y - to.y);
}

}  // namespace

bool is_stub(const Sheet& sheet, const Run& run) {
  return run.block_a == run.block_b && (run.port_a == run.port_b || sheet.blocks[run.block_a].figure == Figure::strap);
}

Router::Router(Sheet& sheet)
    : sheet_(sheet), tracks_(sheet), best_(static_cast<std::size_t>(sheet.columns) * sheet.rows * 4) {}

bool Router::lay(std::size_t r, int most) {
  Run& run = sheet_.runs[r];
  if (is_stub(sheet_, run)) return true;
  const Block &a = sheet_.blocks[run.block_a], &b = sheet_.blocks[run.block_b];
  const bool found = find_path(r, a.outside(a.ports[run.port_a]), a.ports[run.port_a].on_left ? 2 : 0,
                               b.outside(b.ports[run.port_b]), b.ports[run.port_b].on_left ? 0 : 2, most);
  if (!found && most != any_cost) return false;
  tracks_.put_line(r);
  tracks_.find_label(r);
  tracks_.put_label(r);
  return true;
}

void Router::take_up(std::size_t r) {
  if (sheet_.runs[r].path.size() < 2) return;
  tracks_.take_line(r);
  tracks_.take_label(r);
}

void Router::put_back(std::size_t r) {
  if (sheet_.runs[r].path.size() < 2) return;
  tracks_.put_line(r);
  tracks_.put_label(r);
}

int Router::cost_of(std::size_t r) const {
  const Run& run = sheet_.runs[r];
  int cost = run.crowded ? crowded_cost : run.beside ? beside_cost : 0;
  for (std::size_t i = 0; i + 1 < run.path.size(); ++i) {
    const Cell from = run.path[i], to = run.path[i + 1];
    if (i > 0) cost += turn_cost(r, from);
    if (from == to) continue;
    const int direction = direction_of(from, to);
    for (Cell at = from; !(at == to);) {
      const Cell next{at.x + directions[direction].dx, at.y + directions[direction].dy};
      const int step = step_cost(r, at, next, direction);
      cost += step < 0 ? shared_cost : step;
      at = next;
    }
  }
  return cost;
}

/// What it costs to leave `from` by `direction` and stand on the next cell; negative when that is impossible.
int Router::step_cost(std::size_t r, const Cell& from, const Cell& to, int direction) const {
  if (!tracks_.inside(to) || tracks_.is_body(to)) return -1;
  int cost = cell_cost;
  const bool vertical = is_vertical(direction);
  if (tracks_.taken(to, vertical, r) || tracks_.taken(from, vertical, r)) cost += shared_cost;
  if (tracks_.taken(to, !vertical, r)) cost += crossing_cost;
  if (tracks_.is_exit_of_other(to, r)) cost += shared_cost;
  if (vertical && tracks_.has_text({from.x, std::max(from.y, to.y)}, r)) cost += text_cost;
  if (!vertical && tracks_.has_standing_text(to, r)) cost += text_cost;
  if (sheet_.runs[r].zone == Zone::traction && to.y >= sheet_.upper_rows) cost += stray_cost;
  const Cell under{to.x, to.y + 1};
  if (!vertical && sheet_.runs[r].heavy && tracks_.inside(under) && tracks_.has_text_on_line(under, r))
    cost += text_cost;
  if (tracks_.is_margin(to)) cost += hug_cost;
  return cost;
}

/// A line that turns on a cell that another line passes would look joined to it.
int Router::turn_cost(std::size_t r, const Cell& at) const {
  const bool shared = tracks_.taken(at, true, r) || tracks_.taken(at, false, r);
  return corner_cost + (shared ? shared_cost : 0);
}

bool Router::find_path(std::size_t r, Cell start, int start_direction, Cell goal, int goal_direction, int most) {
  Run& run = sheet_.runs[r];
  run.path = {start, {goal.x, start.y}, goal};
  if (!tracks_.inside(start) || !tracks_.inside(goal)) return false;
  ++stamp_;
  for (std::vector<int>& bucket : buckets_) bucket.clear();
  const auto state_of = [&](const Cell& c, int direction) { return (c.y * sheet_.columns + c.x) * 4 + direction; };
  const auto cell_of = [&](int state) { return Cell{state / 4 % sheet_.columns, state / 4 / sheet_.columns}; };
  const auto reach = [&](const Cell& cell, int direction, int cost, int from) {
    const int state = state_of(cell, direction);
    Mark& mark = best_[state];
    if (mark.stamp == stamp_ && (mark.done || mark.cost <= cost)) return;
    const int least = cost + cell_cost * (std::abs(cell.x - goal.x) + std::abs(cell.y - goal.y));
    if (least > most) return;
    mark = {cost, from, stamp_, false};
    const auto estimate = static_cast<std::size_t>(least);
    if (estimate >= buckets_.size()) buckets_.resize(estimate + 64);
    buckets_[estimate].push_back(state);
  };
  reach(start, start_direction, 0, -1);
  const int last = state_of(goal, goal_direction);
  bool found = false;
  for (std::size_t b = 0; b < buckets_.size() && !found; ++b) {
    while (!buckets_[b].empty()) {
      const int state = buckets_[b].back();
      buckets_[b].pop_back();
      Mark& mark = best_[state];
      if (mark.done) continue;
      mark.done = true;
      if (state == last) {
        found = true;
        break;
      }
      const Cell at = cell_of(state);
      const int heading = state % 4, cost = mark.cost;
      const int turning = cost + turn_cost(r, at);
      reach(at, (heading + 1) % 4, turning, state);
      reach(at, (heading + 3) % 4, turning, state);
      const Cell next{at.x + directions[heading].dx, at.y + directions[heading].dy};
      const int step = step_cost(r, at, next, heading);
      if (step >= 0) reach(next, heading, cost + step, state);
    }
  }
  if (!found) return false;
  std::vector<Cell> path;
  for (int state = last; state >= 0; state = best_[state].from) {
    const Cell cell = cell_of(state);
    if (path.empty() || !(path.back() == cell)) path.push_back(cell);
  }
  std::reverse(path.begin(), path.end());
  run.path = only_corners(path);
  return true;
}

void route_runs(Sheet& sheet, Router& router, int rounds) {
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

}  // namespace loomproof::diagram
