// Which cells of the sheet bodies, lines and texts have taken.
#pragma once

#include <cstdint>
#include <vector>

#include "show/diagram_sheet.h"

namespace loomproof::diagram {

class Tracks {
 public:
  /// Takes note of the blocks and of every run that already has a path.
  explicit Tracks(Sheet&);

  bool inside(const Cell& c) const { return c.x >= 0 && c.y >= 0 && c.x < columns_ && c.y < rows_; }
  bool is_body(const Cell& c) const { return cells_[at(c)].bodies > 0; }
  bool is_margin(const Cell& c) const { return cells_[at(c)].margins > 0; }
  /// Another run's line passes this cell upright (or level).
  bool taken(const Cell& c, bool upright, std::size_t by_other_than) const {
    return (upright ? cells_[at(c)].upright : cells_[at(c)].level).by_other(static_cast<int>(by_other_than) + 1);
  }
  /// Another run must leave its block by this cell.
  bool is_exit_of_other(const Cell& c, std::size_t run) const {
    return cells_[at(c)].exits.by_other(static_cast<int>(run) + 1);
  }
  /// Another run's text stands between this cell and the one above.
  bool has_text(const Cell& c, std::size_t by_other_than) const {
    return cells_[at(c)].texts.by_other(static_cast<int>(by_other_than) + 1);
  }
  /// Another run's text stands on a line on this cell, so that a thick line on the cell above would reach into it.
  bool has_text_on_line(const Cell& c, std::size_t by_other_than) const {
    return cells_[at(c)].lifted == 0 && has_text(c, by_other_than);
  }
  /// Another run's text stands just above this cell without belonging to a line on it.
  bool has_standing_text(const Cell& c, std::size_t by_other_than) const {
    return cells_[at(c)].standing > 0 && has_text(c, by_other_than);
  }

  void put_line(std::size_t run) { mark_line(run, 1); }
  void take_line(std::size_t run) { mark_line(run, -1); }
  /// Looks for a free slot along the run's path.
  void find_label(std::size_t run);
  void put_label(std::size_t run) { mark_label(run, 1); }
  void take_label(std::size_t run) { mark_label(run, -1); }
  /// A block's body, earth stubs, and the cells by which its runs leave it.
  void put_block(std::size_t block) { mark_block(block, 1); }
  void take_block(std::size_t block) { mark_block(block, -1); }

 private:
  /// A set of runs in a cell: how many, and their numbers from 1 xored, which names the one when it is alone.
  struct Owners {
    std::int16_t count = 0;
    std::int16_t mix = 0;
    bool by_other(int run) const { return count > 1 || (count == 1 && mix != run); }
    void change(int run, int by) {
      count = static_cast<std::int16_t>(count + by);
      mix = static_cast<std::int16_t>(mix ^ run);
    }
  };
  struct Ground {
    Owners level, upright, texts, exits;
    std::int16_t bodies = 0, margins = 0, standing = 0, heavy = 0, lifted = 0;
  };

  std::size_t at(const Cell& c) const { return static_cast<std::size_t>(c.y) * columns_ + c.x; }
  template <class Visit>
  void each_cell(const Run&, Visit visit) const;
  bool slot_free(const Cell& left, int width, std::size_t run, bool on_line) const;
  void mark_line(std::size_t run, int by);
  void mark_label(std::size_t run, int by);
  void mark_block(std::size_t block, int by);

  Sheet& sheet_;
  int columns_, rows_;
  std::vector<Ground> cells_;
};

}  // namespace loomproof::diagram
