// What moves blocks about on a sheet: the ground that they hold, the lines that each has.
#pragma once

#include <cstdint>
#include <vector>

#include "show/diagram_dice.h"
#include "show/diagram_ground.h"
#include "show/diagram_size.h"

namespace loomproof::diagram {

class BlockMover {
 protected:
  BlockMover(Sheet& sheet, std::uint32_t seed) : sheet_(sheet), dice_(seed), ground_(sheet.columns, sheet.rows) {
    runs_of_.resize(sheet.blocks.size());
    for (std::size_t r = 0; r < sheet.runs.size(); ++r) {
      const Run& run = sheet.runs[r];
      if (is_stub(sheet, run)) continue;
      moving_.push_back(r);
      runs_of_[run.block_a].push_back(r);
      if (run.block_b != run.block_a) runs_of_[run.block_b].push_back(r);
    }
    for (const Block& block : sheet.blocks) claims_.push_back(claim_of(block));
    in_set_.resize(sheet.runs.size(), false);
    ground_.claim(sheet.corridors, 0, 0);
    ground_.claim(sheet.zone_names, 0, 0);
  }

  void claim(std::size_t b) { ground_.claim(claims_[b], sheet_.blocks[b].x, sheet_.blocks[b].y); }
  void release(std::size_t b) { ground_.release(claims_[b], sheet_.blocks[b].x, sheet_.blocks[b].y); }
  bool fits(std::size_t b, int x, int y) const {
    return stands_free(ground_, sheet_, sheet_.blocks[b], claims_[b], x, y);
  }

  void clear_set() {
    for (const std::size_t r : set_) in_set_[r] = false;
    set_.clear();
  }
  void add(std::size_t r) {
    if (in_set_[r]) return;
    in_set_[r] = true;
    set_.push_back(r);
  }
  void add_runs_of(std::size_t b) {
    for (const std::size_t r : runs_of_[b]) add(r);
  }

  Sheet& sheet_;
  Dice dice_;
  Ground ground_;
  std::vector<std::vector<Box>> claims_;           // by block, from its own corner
  std::vector<std::vector<std::size_t>> runs_of_;  // by block: its lines, but for stubs
  std::vector<std::size_t> moving_;                // all of these lines
  std::vector<std::size_t> free_;                  // blocks that may move
  std::vector<std::size_t> set_;                   // lines that a move touches
  std::vector<bool> in_set_;                       // by line
};

}  // namespace loomproof::diagram
