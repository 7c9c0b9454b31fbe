// Where the blocks stand: the main way in one straight line, everything else by annealing on an A4-shaped grid.
#include "show/diagram_place.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace loomproof::diagram {
namespace {

constexpr double sheet_shape = 1.62;  // columns to rows: A4 landscape less title and legend
constexpr int edge = 1;               // cells kept free along the sheet's edge

class Dice {
 public:
  explicit Dice(std::uint32_t seed) : state_(seed * 2654435761U + 12345U) {}
  std::uint32_t next() {
    state_ ^= state_ << 13;
    state_ ^= state_ >> 17;
    state_ ^= state_ << 5;
    return state_;
  }
  int below(int bound) { return bound <= 0 ? 0 : static_cast<int>(next() % static_cast<std::uint32_t>(bound)); }
  double share() { return next() / 4294967296.0; }

 private:
  std::uint32_t state_;
};

int side_margin(const Block& block, bool left) {
  const auto used = std::count_if(block.ports.begin(), block.ports.end(),
                                  [&](const Port& p) { return p.on_left == left && p.wire && !p.earth; });
  return used == 0 ? 1 : std::min(5, 2 + static_cast<int>(used) / 4);
}

/// Who stands on which cell, so that a place can be tried without comparing with every block.
class Ground {
 public:
  Ground(int columns, int rows) : columns_(columns), rows_(rows), owner_(columns * rows, -1) {}

  bool is_free(const Block& block, int self, int other, int top, int bottom) const {
    for (const Box& box : claim_of(block)) {
      if (box.x < 0 || box.x + box.width > columns_ || box.y < top || box.y + box.height > bottom) return false;
      for (int y = box.y; y < box.y + box.height; ++y) {
        for (int x = box.x; x < box.x + box.width; ++x) {
          const int at = owner_[y * columns_ + x];
          if (at != -1 && at != self && at != other) return false;
        }
      }
    }
    return true;
  }
  void claim(const Block& block, int owner) {
    for (const Box& box : claim_of(block)) claim(box, owner);
  }
  void claim(const Box& box, int owner) {
    for (int y = std::max(0, box.y); y < std::min(rows_, box.y + box.height); ++y) {
      for (int x = std::max(0, box.x); x < std::min(columns_, box.x + box.width); ++x) owner_[y * columns_ + x] = owner;
    }
  }

 private:
  int columns_, rows_;
  std::vector<int> owner_;
};

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

bool is_local(const Run& run) {
  return run.block_a == run.block_b && run.port_a == run.port_b;
}

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
    const long v = static_cast<long>(q.x - p.x) * (t.y - p.y) - static_cast<long>(q.y - p.y) * (t.x - p.x);
    return v > 0 ? 1 : v < 0 ? -1 : 0;
  };
  return turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0;
}

class Annealer {
 public:
  Annealer(Sheet& sheet, std::uint32_t seed) : sheet_(sheet), dice_(seed), ground_(sheet.columns, sheet.rows) {
    runs_of_.resize(sheet.blocks.size());
    for (std::size_t r = 0; r < sheet.runs.size(); ++r) {
      const Run& run = sheet.runs[r];
      if (is_local(run)) continue;
      runs_of_[run.block_a].push_back(r);
      if (run.block_b != run.block_a) runs_of_[run.block_b].push_back(r);
      moving_.push_back(r);
    }
    in_set_.resize(sheet.runs.size(), false);
    ends_.resize(sheet.runs.size());
  }

  /// False when a block found no place at all: the sheet is too small.
  bool scatter() {
    constexpr int nobody = 1 << 30;
    for (const Box& box : sheet_.corridors) ground_.claim(box, nobody);
    for (std::size_t b = 0; b < sheet_.blocks.size(); ++b) {
      if (sheet_.blocks[b].fixed) ground_.claim(sheet_.blocks[b], static_cast<int>(b));
    }
    std::vector<std::size_t> order;
    for (std::size_t b = 0; b < sheet_.blocks.size(); ++b) {
      if (!sheet_.blocks[b].fixed) order.push_back(b);
    }
    const auto area = [&](std::size_t b) { return sheet_.blocks[b].width * sheet_.blocks[b].height; };
    std::stable_sort(order.begin(), order.end(), [&](std::size_t l, std::size_t r) { return area(l) > area(r); });
    for (const std::size_t b : order) {
      if (!find_any_place(b)) return false;
      free_.push_back(b);
    }
    return true;
  }

  void anneal(int moves) {
    if (free_.empty()) return;
    for (std::size_t b = 0; b < sheet_.blocks.size(); ++b) follow(b);
    const double hot = 30, cold = 0.15;
    for (int i = 0; i < moves; ++i) {
      const double heat = hot * std::pow(cold / hot, static_cast<double>(i) / moves);
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
  int top_of(const Block& block) const { return block.upper ? 0 : sheet_.upper_rows; }
  int bottom_of(const Block& block) const { return block.upper ? sheet_.upper_rows : sheet_.rows; }
  bool fits(std::size_t b, int other = -2) const {
    const Block& block = sheet_.blocks[b];
    return ground_.is_free(block, static_cast<int>(b), other, top_of(block), bottom_of(block));
  }

  bool find_any_place(std::size_t b) {
    Block& block = sheet_.blocks[b];
    const int top = top_of(block), height = bottom_of(block) - top;
    for (int attempt = 0; attempt < 400; ++attempt) {
      block.x = dice_.below(sheet_.columns);
      block.y = top + dice_.below(height);
      if (fits(b)) return ground_.claim(block, static_cast<int>(b)), true;
    }
    for (block.y = top; block.y < top + height; ++block.y) {
      for (block.x = 0; block.x < sheet_.columns; ++block.x) {
        if (fits(b)) return ground_.claim(block, static_cast<int>(b)), true;
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
    set_.clear();
    for (const std::size_t block : {b, other}) {
      for (const std::size_t r : runs_of_[block]) {
        if (in_set_[r]) continue;
        in_set_[r] = true;
        set_.push_back(r);
      }
      if (other == b) break;
    }
    double cost = 0;
    for (const std::size_t r : set_) {
      cost += line_cost(sheet_.runs[r], ends_[r]);
      for (const std::size_t q : moving_) {
        if (q == r || (in_set_[q] && q < r)) continue;
        if (cross(ends_[r], ends_[q])) cost += 5;
      }
    }
    for (const std::size_t r : set_) in_set_[r] = false;
    return cost;
  }

  bool accept(double before, double after, double heat) {
    return after <= before || dice_.share() < std::exp((before - after) / heat);
  }

  void shift(std::size_t b, double heat, double reach) {
    Block& block = sheet_.blocks[b];
    const Cell was{block.x, block.y};
    const int range_x = 2 + static_cast<int>(reach * sheet_.columns / 2),
              range_y = 2 + static_cast<int>(reach * sheet_.rows / 2);
    if (dice_.below(4) == 0 && !runs_of_[b].empty()) {
      // Straight across from the other end of one of its lines.
      const std::size_t r = runs_of_[b][dice_.below(static_cast<int>(runs_of_[b].size()))];
      const Run& run = sheet_.runs[r];
      const End &a = ends_[r].a, &z = ends_[r].b;
      block.y += run.block_a == b ? z.at.y - a.at.y : a.at.y - z.at.y;
      block.x += dice_.below(2 * range_x + 1) - range_x;
    } else {
      block.x += dice_.below(2 * range_x + 1) - range_x;
      block.y += dice_.below(2 * range_y + 1) - range_y;
    }
    const Cell next{block.x, block.y};
    if (next == was || !fits(b)) {
      block.x = was.x, block.y = was.y;
      return;
    }
    const double before = cost_around(b, b);
    follow(b);
    if (!accept(before, cost_around(b, b), heat)) {
      block.x = was.x, block.y = was.y;
      follow(b);
      return;
    }
    block.x = was.x, block.y = was.y;
    ground_.claim(block, -1);
    block.x = next.x, block.y = next.y;
    ground_.claim(block, static_cast<int>(b));
  }

  static void turn_round(Block& block) {
    for (Port& port : block.ports) port.on_left = !port.on_left;
  }

  void flip(std::size_t b, double heat) {
    Block& block = sheet_.blocks[b];
    const double before = cost_around(b, b);
    ground_.claim(block, -1);
    turn_round(block);
    follow(b);
    if (!fits(b) || !accept(before, cost_around(b, b), heat)) {
      turn_round(block);
      follow(b);
    }
    ground_.claim(block, static_cast<int>(b));
  }

  void swap(std::size_t b, std::size_t c, double heat) {
    if (b == c || sheet_.blocks[b].upper != sheet_.blocks[c].upper) return;
    const double before = cost_around(b, c);
    Block &first = sheet_.blocks[b], &second = sheet_.blocks[c];
    ground_.claim(first, -1);
    ground_.claim(second, -1);
    exchange(first, second);
    bool good = fits(b);
    if (good) {
      ground_.claim(first, static_cast<int>(b));
      good = fits(c);
      if (!good) ground_.claim(first, -1);
    }
    follow(b);
    follow(c);
    if (good && accept(before, cost_around(b, c), heat)) {
      ground_.claim(second, static_cast<int>(c));
      return;
    }
    if (good) ground_.claim(first, -1);
    exchange(first, second);
    follow(b);
    follow(c);
    ground_.claim(first, static_cast<int>(b));
    ground_.claim(second, static_cast<int>(c));
  }

  static void exchange(Block& first, Block& second) {
    std::swap(first.x, second.x);
    std::swap(first.y, second.y);
  }

  Sheet& sheet_;
  Dice dice_;
  Ground ground_;
  std::vector<std::vector<std::size_t>> runs_of_;
  std::vector<std::size_t> moving_, free_, set_;
  std::vector<bool> in_set_;
  std::vector<Ends> ends_;
};

int claimed_area(const Block& block) {
  int area = 0;
  for (const Box& box : claim_of(block)) area += box.width * box.height;
  return area;
}

/// Cells between two neighbours of the main way: the widest text on a line there, or an earth stub that reaches in.
int text_between(const Sheet& sheet, std::size_t a, std::size_t b) {
  int cells = 4;
  for (const Port& port : sheet.blocks[a].ports) {
    if (port.earth && !port.on_left) cells = std::max(cells, port.stub_cells + cells_for(port.stud, small_text_pt) + 3);
  }
  for (const Run& run : sheet.runs) {
    const bool joins = (run.block_a == a && run.block_b == b) || (run.block_a == b && run.block_b == a);
    if (joins) cells = std::max(cells, run.text_cells + 2);
  }
  return cells;
}

/// The row inside a block at which a line of the way enters or leaves it.
int way_row(const Sheet& sheet, std::size_t block, std::size_t neighbour) {
  for (const Run& run : sheet.runs) {
    if (run.block_a == block && run.block_b == neighbour) return sheet.blocks[block].ports[run.port_a].row;
    if (run.block_b == block && run.block_a == neighbour) return sheet.blocks[block].ports[run.port_b].row;
  }
  return sheet.blocks[block].axis;
}

std::vector<std::size_t> with_motor(const Sheet& sheet) {
  std::vector<std::size_t> line = sheet.spine;
  for (std::size_t b = 0; !line.empty() && b < sheet.blocks.size(); ++b) {
    if (sheet.blocks[b].figure != Figure::motor) continue;
    for (const Run& run : sheet.runs) {
      const std::size_t drive = sheet.spine.back();
      if ((run.block_a == b && run.block_b == drive) || (run.block_b == b && run.block_a == drive))
        return line.push_back(b), line;
    }
  }
  return line;
}

int way_width(const Sheet& sheet, const std::vector<std::size_t>& line) {
  int width = 2 * edge + 2;
  for (std::size_t i = 0; i < line.size(); ++i) {
    width += sheet.blocks[line[i]].width;
    if (i > 0) width += text_between(sheet, line[i - 1], line[i]) + 2;
  }
  return width;
}

void set_way(Sheet& sheet, const std::vector<std::size_t>& line, int row) {
  const int spare = sheet.columns - way_width(sheet, line);
  const int gaps = std::max<int>(1, static_cast<int>(line.size()) - 1);
  int x = edge + 1;
  for (std::size_t i = 0; i < line.size(); ++i) {
    Block& block = sheet.blocks[line[i]];
    if (i > 0) {
      x += text_between(sheet, line[i - 1], line[i]) + 2;
      x += spare * static_cast<int>(i) / gaps - spare * static_cast<int>(i - 1) / gaps;
    }
    block.fixed = true;
    block.upper = true;
    block.x = x;
    if (i == 0 || line.size() < 2) {
      block.y = row - (line.size() > 1 ? way_row(sheet, line[0], line[1]) : block.axis);
    } else {
      const Block& before = sheet.blocks[line[i - 1]];
      block.y = before.y + way_row(sheet, line[i - 1], line[i]) - way_row(sheet, line[i], line[i - 1]);
    }
    x += block.width;
  }
}

/// Parts in the negative side (shunt, second contactor) on their own straight line between the same ends.
void set_return(Sheet& sheet) {
  const std::vector<std::size_t>& line = sheet.return_spine;
  if (line.size() < 2 || sheet.spine.size() < 2) return;
  const Block &first = sheet.blocks[line.front()], &last = sheet.blocks[line.back()];
  const int from = first.x + first.width, to = last.x;
  const int parts = static_cast<int>(line.size()) - 2;
  const int row = first.y + way_row(sheet, line[0], line[1]);
  sheet.corridors.push_back({from, row - 1, to - from, 3});
  for (int i = 1; i <= parts; ++i) {
    Block& block = sheet.blocks[line[i]];
    if (block.fixed) continue;
    block.x = from + (to - from) * i / (parts + 1) - block.width / 2;
    block.y = row - way_row(sheet, line[i], line[i - 1]);
    block.fixed = block.upper = true;
  }
}

void size_sheet(Sheet& sheet, double looseness) {
  const std::vector<std::size_t> line = with_motor(sheet);
  for (const auto& way : {line, sheet.return_spine}) {
    for (const std::size_t b : way) sheet.blocks[b].upper = true;
  }
  double upper = 0, lower = 0;
  int tallest_lower = 0, widest = 0;
  for (const Block& block : sheet.blocks) {
    (block.upper ? upper : lower) += claimed_area(block);
    if (!block.upper) tallest_lower = std::max(tallest_lower, block.height + 3);
    const std::vector<Box> claim = claim_of(block);
    int left = claim.front().x, right = left;
    for (const Box& box : claim) left = std::min(left, box.x), right = std::max(right, box.x + box.width);
    widest = std::max(widest, right - left + 2);
  }
  const double area = (upper + lower) * looseness;
  sheet.columns = std::max({40, widest, way_width(sheet, line), static_cast<int>(std::sqrt(area * sheet_shape))});
  // Room above the main way for what bridges it (precharge), below it for what hangs on it.
  bool others = false;
  for (std::size_t b = 0; b < sheet.blocks.size(); ++b) {
    others |= sheet.blocks[b].upper && std::find(line.begin(), line.end(), b) == line.end();
  }
  int needed = 0;
  sheet.corridors.clear();
  if (!line.empty()) {
    set_way(sheet, line, 0);
    int top = 0;
    for (const std::size_t b : line) top = std::min(top, sheet.blocks[b].y);
    set_way(sheet, line, edge + 1 - top + (others ? 9 : 0));
    for (std::size_t i = 0; i + 1 < line.size(); ++i) {
      const Block &here = sheet.blocks[line[i]], &next = sheet.blocks[line[i + 1]];
      const int x = here.x + here.width;
      sheet.corridors.push_back({x, here.y + way_row(sheet, line[i], line[i + 1]) - 1, next.x - x, 2});
    }
    set_return(sheet);
    for (const std::size_t b : line) needed = std::max(needed, sheet.blocks[b].y + sheet.blocks[b].height + 2);
  }
  sheet.upper_rows = upper > 0 ? std::max(needed, static_cast<int>(upper * looseness / sheet.columns) + 1) : 0;
  const int lower_rows = std::max(tallest_lower, static_cast<int>(lower * looseness / sheet.columns) + 2);
  sheet.rows = std::max(sheet.upper_rows + (lower > 0 ? lower_rows : 0), static_cast<int>(sheet.columns / sheet_shape));
  // Space that the shape of the page leaves over goes to both regions in proportion.
  const int spare = sheet.rows - sheet.upper_rows - (lower > 0 ? lower_rows : 0);
  if (upper > 0 && spare > 0) sheet.upper_rows += lower > 0 ? static_cast<int>(spare * upper / (upper + lower)) : spare;
}

}  // namespace

std::vector<Box> claim_of(const Block& block) {
  const int left = side_margin(block, true), right = side_margin(block, false);
  std::vector<Box> claim{{block.x - left, block.y - 1, block.width + left + right, block.height + 2}};
  for (const Port& port : block.ports) {
    if (!port.earth) continue;
    const int reach = port.stub_cells + 2 + cells_for(port.stud, small_text_pt);
    const Cell at = block.at(port);
    claim.push_back({port.on_left ? at.x - reach : at.x + 1, at.y - 1, reach, 3});
  }
  return claim;
}

void place_blocks(Sheet& sheet, double looseness, std::uint32_t seed) {
  for (int attempt = 0; attempt < 12; ++attempt) {
    for (Block& block : sheet.blocks) block.fixed = false;
    size_sheet(sheet, looseness);
    Annealer annealer(sheet, seed);
    if (annealer.scatter()) {
      // As many moves as the blocks need to settle; fewer where each costs more because there are many lines.
      const double blocks = static_cast<double>(sheet.blocks.size()), lines = static_cast<double>(sheet.runs.size());
      annealer.anneal(static_cast<int>(11'000 * std::min(36.0, blocks) * std::min(1.0, 70 / (1 + lines))));
      return;
    }
    looseness *= 1.15;
  }
}

}  // namespace loomproof::diagram
