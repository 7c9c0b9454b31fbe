// Where the blocks stand: the main way in one straight line, everything else by annealing on the sheet's grid.
#include "show/diagram_place.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "show/diagram_mover.h"
#include "show/diagram_route.h"
#include "show/diagram_size.h"

namespace loomproof::diagram {
namespace {

struct End {
  Cell at;
  int out;  // -1 leaves to the left, +1 to the right
};

End end_of(const Sheet& sheet, std::size_t block, std::size_t port) {
  const Block& b = sheet.blocks[block];
  return {b.outside(b.ports[port]), b.ports[port].on_left ? -1 : 1};
}

struct Ends {
  End a, b;
};

/// What the line would cost if nothing stood in its way: length, corners, room for its text, energy against the grain.
double line_cost(const Run& run, const Ends& ends) {
  const End &a = ends.a, &b = ends.b;
  const int dx = b.at.x - a.at.x, dy = std::abs(b.at.y - a.at.y);
  double length = std::abs(dx) + dy;
  int corners = 0;
  if (a.out != b.out) {
    const int ahead = a.out > 0 ? dx : -dx;
    if (ahead >= 0) {
      corners = dy == 0 ? 0 : 2;
      length += 5.0 * std::max(0, run.text_cells + 1 - ahead);
    } else {
      corners = 4;
      length += 6;
    }
  } else {
    corners = 2;
    length += 4;
  }
  if (run.flow != 0) {
    // Energy leaves to the right, arrives from the left, and does not run back.
    const int giving = run.flow > 0 ? a.out : b.out, taking = run.flow > 0 ? b.out : a.out;
    length += 1.5 * std::max(0, -dx * run.flow) + (giving < 0 ? 8 : 0) + (taking > 0 ? 8 : 0);
  }
  return run.weight * (length + 3.5 * corners);
}

bool cross(const Ends& l, const Ends& r) {
  const Cell &a = l.a.at, &b = l.b.at, &c = r.a.at, &d = r.b.at;
  if (std::max(a.x, b.x) < std::min(c.x, d.x) || std::max(c.x, d.x) < std::min(a.x, b.x)) return false;
  if (std::max(a.y, b.y) < std::min(c.y, d.y) || std::max(c.y, d.y) < std::min(a.y, b.y)) return false;
  const auto turn = [](const Cell& p, const Cell& q, const Cell& t) {
    const int v = (q.x - p.x) * (t.y - p.y) - (q.y - p.y) * (t.x - p.x);
    return v > 0 ? 1 : v < 0 ? -1 : 0;
  };
  return turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0;
}

class Annealer : BlockMover {
 public:
  Annealer(Sheet& sheet, std::uint32_t seed) : BlockMover(sheet, seed), ends_(sheet.runs.size()) {}

  /// False when a block found no place at all: the sheet is too small.
  bool scatter() {
    for (std::size_t b = 0; b < sheet_.blocks.size(); ++b) {
      if (sheet_.blocks[b].fixed) claim(b);
    }
    std::vector<std::size_t> order;
    for (std::size_t b = 0; b < sheet_.blocks.size(); ++b) {
      if (!sheet_.blocks[b].fixed) order.push_back(b);
    }
    const auto area = [&](std::size_t b) { return sheet_.blocks[b].width * sheet_.blocks[b].height; };
    std::stable_sort(order.begin(), order.end(), [&](std::size_t l, std::size_t r) { return area(l) > area(r); });
    for (const std::size_t b : order) {
      if (!find_any_place(b)) return false;
      claim(b);
      free_.push_back(b);
    }
    return true;
  }

  void anneal(int moves) {
    if (free_.empty()) return;
    for (std::size_t b = 0; b < sheet_.blocks.size(); ++b) follow(b);
    const double hot = 30, cold = 0.15;
    double heat = hot;
    const double cooling = std::pow(cold / hot, 64.0 / moves);
    for (int i = 0; i < moves; ++i) {
      if (i % 64 == 63) heat *= cooling;
      const std::size_t b = free_[dice_.below(static_cast<int>(free_.size()))];
      const int kind = dice_.below(16);
      if (kind == 0 && sheet_.blocks[b].may_flip) {
        flip(b, heat);
      } else if (kind < 3) {
        swap(b, free_[dice_.below(static_cast<int>(free_.size()))], heat);
      } else {
        shift(b, heat, 1 - static_cast<double>(i) / moves);
      }
    }
  }

 private:
  bool find_any_place(std::size_t b) {
    Block& block = sheet_.blocks[b];
    const auto stand = [&](int x, int y) {
      if (!fits(b, x, y)) return false;
      block.x = x, block.y = y;
      return true;
    };
    for (int attempt = 0; attempt < 400; ++attempt) {
      const int x = dice_.below(sheet_.columns);
      if (stand(x, dice_.below(sheet_.rows))) return true;
    }
    for (int y = 0; y < sheet_.rows; ++y) {
      for (int x = 0; x < sheet_.columns; ++x) {
        if (stand(x, y)) return true;
      }
    }
    return false;
  }

  /// The ends of a block's lines move with it.
  void follow(std::size_t b) {
    for (const std::size_t r : runs_of_[b]) {
      const Run& run = sheet_.runs[r];
      ends_[r] = {end_of(sheet_, run.block_a, run.port_a), end_of(sheet_, run.block_b, run.port_b)};
    }
  }

  /// Cost of the lines at one or two blocks, with their crossings against all others.
  double cost_around(std::size_t b, std::size_t other) {
    add_runs_of(b);
    add_runs_of(other);
    double cost = 0;
    for (const std::size_t r : set_) {
      cost += line_cost(sheet_.runs[r], ends_[r]);
      for (const std::size_t q : moving_) {
        if (q == r || (in_set_[q] && q < r)) continue;
        if (cross(ends_[r], ends_[q])) cost += 5;
      }
    }
    clear_set();
    return cost;
  }

  bool accept(double before, double after, double heat) {
    return after <= before || dice_.share() < std::exp((before - after) / heat);
  }

  void shift(std::size_t b, double heat, double reach) {
    Block& block = sheet_.blocks[b];
    const Cell was{block.x, block.y};
    Cell next = was;
    const int range_x = 2 + static_cast<int>(reach * sheet_.columns / 2),
              range_y = 2 + static_cast<int>(reach * sheet_.rows / 2);
    if (dice_.below(4) == 0 && !runs_of_[b].empty()) {
      // Straight across from the other end of one of its lines.
      const std::size_t r = runs_of_[b][dice_.below(static_cast<int>(runs_of_[b].size()))];
      const Run& run = sheet_.runs[r];
      const End &a = ends_[r].a, &z = ends_[r].b;
      next.y += run.block_a == b ? z.at.y - a.at.y : a.at.y - z.at.y;
      next.x += dice_.below(2 * range_x + 1) - range_x;
    } else {
      next.x += dice_.below(2 * range_x + 1) - range_x;
      next.y += dice_.below(2 * range_y + 1) - range_y;
    }
    if (next == was) return;
    release(b);
    if (fits(b, next.x, next.y)) {
      const double before = cost_around(b, b);
      block.x = next.x, block.y = next.y;
      follow(b);
      if (!accept(before, cost_around(b, b), heat)) {
        block.x = was.x, block.y = was.y;
        follow(b);
      }
    }
    claim(b);
  }

  void turn_round(std::size_t b) {
    for (Port& port : sheet_.blocks[b].ports) port.on_left = !port.on_left;
    claims_[b] = claim_of(sheet_.blocks[b]);
    follow(b);
  }

  void flip(std::size_t b, double heat) {
    const double before = cost_around(b, b);
    release(b);
    turn_round(b);
    const Block& block = sheet_.blocks[b];
    if (!fits(b, block.x, block.y) || !accept(before, cost_around(b, b), heat)) turn_round(b);
    claim(b);
  }

  void swap(std::size_t b, std::size_t c, double heat) {
    if (b == c || sheet_.blocks[b].upper != sheet_.blocks[c].upper) return;
    Block &first = sheet_.blocks[b], &second = sheet_.blocks[c];
    release(b);
    release(c);
    const auto exchange = [&] {
      std::swap(first.x, second.x);
      std::swap(first.y, second.y);
      follow(b);
      follow(c);
    };
    const double before = cost_around(b, c);
    exchange();
    bool good = fits(b, first.x, first.y);
    if (good) {
      claim(b);
      good = fits(c, second.x, second.y);
      if (!good || !accept(before, cost_around(b, c), heat)) release(b), good = false;
    }
    if (!good) {
      exchange();
      claim(b);
    }
    claim(c);
  }

  std::vector<Ends> ends_;
};

}  // namespace

void place_blocks(Sheet& sheet, std::uint32_t seed) {
  for (const Fit& fit : fits_to_try()) {
    if (!size_sheet(sheet, fit)) continue;
    Annealer annealer(sheet, seed);
    seed += 16;  // another scatter may fit where this one did not
    if (!annealer.scatter()) continue;
    // As many moves as the blocks need to settle; fewer where each costs more because there are many lines.
    const double blocks = static_cast<double>(sheet.blocks.size()), lines = static_cast<double>(sheet.runs.size());
    annealer.anneal(static_cast<int>(3'500 * std::min(36.0, blocks) * std::min(1.0, 70 / (1 + lines))));
    return;
  }
}

}  // namespace loomproof::diagram
