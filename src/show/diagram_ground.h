// Which cells the blocks claim, a bit each, so that a place can be tried in a few operations.
#pragma once

#include <algorithm>
#include <cstdint>
#include <vector>

#include "show/diagram_sheet.h"

namespace loomproof::diagram {

class Ground {
 public:
  Ground(int columns, int rows)
      : columns_(columns),
        rows_(rows),
        words_((columns + 63) / 64),
        bits_(static_cast<std::size_t>(words_) * rows, 0) {}

  /// Whether all boxes, moved by (x, y), are free and lie on the sheet between the rows `top` and `bottom`.
  bool is_free(const std::vector<Box>& boxes, int x, int y, int top, int bottom) const {
    for (const Box& box : boxes) {
      const int left = box.x + x, low = box.y + y;
      if (left < 0 || left + box.width > columns_ || low < top || low + box.height > bottom) return false;
    }
    return std::none_of(boxes.begin(), boxes.end(), [&](const Box& box) {
      bool taken = false;
      each_word({box.x + x, box.y + y, box.width, box.height},
                [&](std::size_t word, std::uint64_t mask) { taken |= (bits_[word] & mask) != 0; });
      return taken;
    });
  }
  void claim(const std::vector<Box>& boxes, int x, int y) {
    for (const Box& box : boxes) {
      each_word({box.x + x, box.y + y, box.width, box.height},
                [&](std::size_t word, std::uint64_t mask) { bits_[word] |= mask; });
    }
  }
  void release(const std::vector<Box>& boxes, int x, int y) {
    for (const Box& box : boxes) {
      each_word({box.x + x, box.y + y, box.width, box.height},
                [&](std::size_t word, std::uint64_t mask) { bits_[word] &= ~mask; });
    }
  }

 private:
  template <class Visit>
  void each_word(const Box& box, Visit visit) const {
    const int left = std::max(0, box.x), right = std::min(columns_, box.x + box.width);
    if (left >= right) return;
    for (int word = left / 64; word <= (right - 1) / 64; ++word) {
      const int from = std::max(left - word * 64, 0), to = std::min(right - word * 64, 64);
      const std::uint64_t mask =
          (to == 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << to) - 1) & ~((std::uint64_t{1} << from) - 1);
      for (int y = std::max(0, box.y); y < std::min(rows_, box.y + box.height); ++y) {
        visit(static_cast<std::size_t>(y) * words_ + word, mask);
      }
    }
  }

  int columns_, rows_, words_;
  std::vector<std::uint64_t> bits_;
};

/// Free, and in the region of its zone; never across the border of the two.
inline bool stands_free(const Ground& ground, const Sheet& sheet, const Block& block, const std::vector<Box>& claim,
                        int x, int y) {
  const bool upper = block.anywhere ? y + block.height / 2 < sheet.upper_rows : block.upper;
  return ground.is_free(claim, x, y, upper ? 0 : sheet.upper_rows, upper ? sheet.upper_rows : sheet.rows);
}

}  // namespace loomproof::diagram
