// Which cells of the sheet bodies, lines and texts have taken.
#pragma once

#include <cstdint>
#include <vector>

#include "show/diagram_sheet.h"

namespace loomproof::diagram {

class Tracks {
 public:
  /// Takes note of the blocks and of every run that already has a path.
  explicit Tracks(const Sheet&);
  explicit Tracks(Sheet&);

  bool inside(const Cell& c) const { return c.x >= 0 && c.y >= 0 && c.x < columns_ && c.y < rows_; }
  bool is_body(const Cell& c) const { return body_[at(c)]; }
  bool is_margin(const Cell& c) const { return margin_[at(c)]; }
  /// Another run's line passes this cell upright (or level).
  bool taken(const Cell& c, bool upright, std::size_t by_other_than) const;
  /// Another run must leave its block by this cell.
  bool is_exit_of_other(const Cell& c, std::size_t run) const;
  /// Another run's text stands between this cell and the one above.
  bool has_text(const Cell& c, std::size_t by_other_than) const;
  /// Another run's text stands just above this cell without belonging to a line on it.
  bool has_standing_text(const Cell& c, std::size_t by_other_than) const;

  void put_line(std::size_t run);
  void put_label(std::size_t run);
  void remove(std::size_t run);
  int crossings() const;

 private:
  using Owners = std::vector<std::vector<std::int32_t>>;

  std::size_t at(const Cell& c) const { return static_cast<std::size_t>(c.y) * columns_ + c.x; }
  template <class Visit>
  void each_cell(const Run&, Visit visit) const;
  bool slot_free(const Cell& left, int width, std::size_t run, bool on_line) const;
  void block_bodies();

  const Sheet& sheet_;
  Sheet* writable_ = nullptr;
  int columns_, rows_;
  std::vector<bool> body_, margin_;
  Owners level_, upright_;          // runs through a cell
  std::vector<std::int32_t> exit_;  // run that must leave here, or -1
  std::vector<std::int32_t> text_;  // run whose text is in the slot above the cell, or -1
  std::vector<bool> standing_;      // that text stands beside an upright line
};

}  // namespace loomproof::diagram
