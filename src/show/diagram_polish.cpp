// The last hand on a sheet that is placed and routed: small moves, kept when the lines themselves get better.
#include "show/diagram_polish.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "show/diagram_mover.h"

namespace loomproof::diagram {
namespace {

bool touch(const Box& a, const Box& b) {
  return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;
}

Box between(const Cell& p, const Cell& q) {
  return {std::min(p.x, q.x), std::min(p.y, q.y), std::abs(p.x - q.x) + 1, std::abs(p.y - q.y) + 1};
}

/// A line or its text runs through one of the boxes.
bool runs_through(const Run& run, const std::vector<Box>& boxes, int x, int y) {
  return std::any_of(boxes.begin(), boxes.end(), [&](const Box& at) {
    const Box box{at.x + x, at.y + y, at.width, at.height};
    if (run.label && touch(box, {run.label->x, run.label->y - 1, run.text_cells, 2})) return true;
    for (std::size_t i = 0; i + 1 < run.path.size(); ++i) {
      if (touch(box, between(run.path[i], run.path[i + 1]))) return true;
    }
    return false;
  });
}

class Polisher : BlockMover {
 public:
  Polisher(Sheet& sheet, Router& router, std::uint32_t seed) : BlockMover(sheet, seed), router_(router) {
    for (std::size_t b = 0; b < sheet.blocks.size(); ++b) {
      claim(b);
      if (!sheet.blocks[b].fixed) free_.push_back(b);
    }
  }

  void work(int tries) {
    if (moving_.empty()) return;
    for (int i = 0; i < tries; ++i) {
      heat_ = 15.0 * (1 - static_cast<double>(i) / tries);
      const int kind = dice_.below(8);
      if (kind < 3) {
        exchange_ports();
      } else if (kind == 3) {
        lay_again();
      } else if (!free_.empty()) {
        const std::size_t b = free_[dice_.below(static_cast<int>(free_.size()))];
        if (kind == 4 && sheet_.blocks[b].may_flip) {
          turn_round(b);
        } else {
          shift(b);
        }
      }
    }
  }

 private:
  struct Was {
    std::vector<Cell> path;
    std::optional<Cell> label;
    bool beside, before, crowded;
  };

  /// Tries one change of one block. `change` and `undo` alter the block; the runs in `set_` are laid anew.
  template <class Change, class Undo>
  bool attempt(std::size_t b, Change change, Undo undo) {
    std::vector<Was> was;
    int before = 0;
    for (const std::size_t r : set_) {
      const Run& run = sheet_.runs[r];
      before += router_.cost_of(r);
      was.push_back({run.path, run.label, run.beside, run.before, run.crowded});
    }
    for (const std::size_t r : set_) router_.take_up(r);
    router_.tracks().take_block(b);
    change();
    router_.tracks().put_block(b);
    const int most = before - static_cast<int>(std::log(std::max(1e-9, dice_.share())) * heat_);
    int after = 0;
    std::size_t laid = 0;
    for (; laid < set_.size() && after <= most; ++laid) {
      if (!router_.lay(set_[laid], most - after)) {
        after = Router::any_cost;
        break;
      }
      after += router_.cost_of(set_[laid]);
    }
    // The first ones were laid before the others lay: what they cost among all is what counts.
    if (after <= most) {
      after = 0;
      for (const std::size_t r : set_) after += router_.cost_of(r);
    }
    if (after <= most) return true;
    for (std::size_t i = 0; i < laid; ++i) router_.take_up(set_[i]);
    router_.tracks().take_block(b);
    undo();
    router_.tracks().put_block(b);
    for (std::size_t i = 0; i < set_.size(); ++i) {
      Run& run = sheet_.runs[set_[i]];
      run.path = was[i].path, run.label = was[i].label, run.beside = was[i].beside, run.before = was[i].before;
      run.crowded = was[i].crowded;
      router_.put_back(set_[i]);
    }
    return false;
  }

  void add_runs_in_the_way(std::size_t b, const std::vector<Box>& claim, int x, int y) {
    const Block& block = sheet_.blocks[b];
    std::vector<Box> solid{{-1, -block.marker_rows(), block.width + 2, block.height + block.marker_rows()}};
    solid.insert(solid.end(), claim.begin() + 1, claim.end());
    for (const std::size_t r : moving_) {
      if (!in_set_[r] && runs_through(sheet_.runs[r], solid, x, y)) add(r);
    }
  }

  void shift(std::size_t b) {
    Block& block = sheet_.blocks[b];
    const Cell was{block.x, block.y};
    Cell next = was;
    const int reach = dice_.below(4) == 0 ? 24 : 4;
    const auto jitter = [&] { return dice_.below(2 * reach + 1) - reach; };
    if (dice_.below(2) == 0 && !runs_of_[b].empty()) {
      const std::size_t r = runs_of_[b][dice_.below(static_cast<int>(runs_of_[b].size()))];
      const Run& run = sheet_.runs[r];
      const auto row = [&](std::size_t at, std::size_t port) {
        return sheet_.blocks[at].y + sheet_.blocks[at].ports[port].row;
      };
      const int a = row(run.block_a, run.port_a), z = row(run.block_b, run.port_b);
      next.y += run.block_a == b ? z - a : a - z;
      next.x += dice_.below(2) == 0 ? 0 : jitter();
    } else {
      next.x += jitter();
      next.y += jitter() / 2;
    }
    if (next == was) return;
    release(b);
    if (fits(b, next.x, next.y)) {
      clear_set();
      add_runs_of(b);
      add_runs_in_the_way(b, claims_[b], next.x, next.y);
      if (set_.size() <= most_runs)
        attempt(
            b, [&] { block.x = next.x, block.y = next.y; }, [&] { block.x = was.x, block.y = was.y; });
    }
    claim(b);
  }

  void turn_round(std::size_t b) {
    Block& block = sheet_.blocks[b];
    const auto turn = [&] {
      for (Port& port : block.ports) port.on_left = !port.on_left;
      claims_[b] = claim_of(block);
    };
    release(b);
    turn();
    const bool good = fits(b, block.x, block.y);
    if (good) {
      clear_set();
      add_runs_of(b);
      add_runs_in_the_way(b, claims_[b], block.x, block.y);
    }
    turn();
    if (good && set_.size() <= most_runs) attempt(b, turn, turn);
    claim(b);
  }

  /// Two lines of one block change places: wires of one terminal, or two terminals with a wire each.
  void exchange_ports() {
    const std::size_t b = dice_.below(static_cast<int>(sheet_.blocks.size()));
    Block& block = sheet_.blocks[b];
    const int count = static_cast<int>(block.ports.size());
    if (count < 2) return;
    const std::size_t p = dice_.below(count), q = dice_.below(count);
    if (p == q || !may_exchange(block, p, q)) return;
    clear_set();
    for (const std::size_t port : {p, q}) {
      if (block.ports[port].run != nobody) add(block.ports[port].run);
    }
    if (set_.empty()) return;
    const auto exchange = [&] {
      std::swap(block.ports[p].row, block.ports[q].row);
      std::swap(block.ports[p].on_left, block.ports[q].on_left);
    };
    attempt(b, exchange, exchange);
  }

  bool may_exchange(const Block& block, std::size_t p, std::size_t q) const {
    const Port &one = block.ports[p], &two = block.ports[q];
    if (one.ending != Ending::block || two.ending != Ending::block || one.pinned || two.pinned) return false;
    if (one.rows != two.rows) return false;
    if (block.figure == Figure::splice) return true;
    if (one.on_left != two.on_left) return false;
    if (one.terminal == two.terminal) return true;
    const bool box = block.figure == Figure::box || block.figure == Figure::converter;
    const auto alone = [&](TerminalIndex t) {
      return std::count_if(block.ports.begin(), block.ports.end(), [&](const Port& o) { return o.terminal == t; }) == 1;
    };
    return box && alone(one.terminal) && alone(two.terminal);
  }

  void lay_again() {
    const std::size_t r = moving_[dice_.below(static_cast<int>(moving_.size()))];
    router_.take_up(r);
    router_.lay(r);
  }

  static constexpr std::size_t most_runs = 14;
  Router& router_;
  double heat_ = 0;
};

}  // namespace

void polish(Sheet& sheet, Router& router, int tries, std::uint32_t seed) {
  Polisher(sheet, router, seed).work(tries);
}

long cost_of_sheet(const Sheet& sheet, const Router& router) {
  long cost = 0;
  for (std::size_t r = 0; r < sheet.runs.size(); ++r) {
    if (!is_stub(sheet, sheet.runs[r])) cost += router.cost_of(r);
  }
  return cost;
}

}  // namespace loomproof::diagram
