// Which cells of the sheet bodies, lines and texts have taken.
#include "show/diagram_tracks.h"

#include <algorithm>
#include <cstdlib>

namespace loomproof::diagram {

Tracks::Tracks(Sheet& sheet)
    : sheet_(sheet),
      columns_(sheet.columns),
      rows_(sheet.rows),
      cells_(static_cast<std::size_t>(sheet.columns) * sheet.rows) {
  for (std::size_t b = 0; b < sheet.blocks.size(); ++b) put_block(b);
  for (const Box& box : sheet.zone_names) {
    for (int x = box.x; x < box.x + box.width; ++x) {
      for (int y = box.y; y < box.y + box.height; ++y) {
        if (inside({x, y})) ++cells_[at({x, y})].bodies;
      }
    }
  }
  for (std::size_t r = 0; r < sheet.runs.size(); ++r) {
    if (sheet.runs[r].path.size() < 2) continue;
    put_line(r);
    put_label(r);
  }
}

void Tracks::mark_block(std::size_t index, int by) {
  const Block& block = sheet_.blocks[index];
  const auto add = [by](std::int16_t& count) { count = static_cast<std::int16_t>(count + by); };
  const int top = block.y - block.marker_rows();
  for (int y = top - 1; y <= block.y + block.height; ++y) {
    for (int x = block.x - 1; x <= block.x + block.width; ++x) {
      if (!inside({x, y})) continue;
      Ground& cell = cells_[at({x, y})];
      add(cell.margins);
      const bool within = y >= top && y < block.y + block.height && x >= block.x && x < block.x + block.width;
      if (within) add(cell.bodies);
    }
  }
  for (const Port& port : block.ports) {
    // Stubs are lines that are already laid: nothing passes over them or their text.
    if (port.ending != Ending::block) {
      const int reach = port.stub_cells + port.mark_cells;
      for (int step = 1; step <= reach; ++step) {
        const Cell c{block.at(port).x + (port.on_left ? -step : step), block.at(port).y};
        if (!inside(c)) continue;
        add(cells_[at(c)].bodies);
        // The text over the stub is a slot that upright lines may not cross.
        if (step <= port.stub_cells + 1) {
          if (inside({c.x, c.y - 1})) add(cells_[at({c.x, c.y - 1})].margins);
        }
      }
      continue;
    }
    const Cell out = block.outside(port);
    if (port.run != nobody && inside(out)) cells_[at(out)].exits.change(static_cast<int>(port.run) + 1, by);
  }
}

template <class Visit>
void Tracks::each_cell(const Run& run, Visit visit) const {
  for (std::size_t i = 0; i + 1 < run.path.size(); ++i) {
    const Cell p = run.path[i], q = run.path[i + 1];
    const bool upright = p.x == q.x && p.y != q.y;
    const int dx = (q.x > p.x) - (q.x < p.x), dy = (q.y > p.y) - (q.y < p.y);
    for (Cell c = p;; c.x += dx, c.y += dy) {
      if (inside(c)) visit(c, upright);
      if (c == q) break;
    }
  }
}

void Tracks::mark_line(std::size_t r, int by) {
  each_cell(sheet_.runs[r], [&](const Cell& c, bool upright) {
    Ground& cell = cells_[at(c)];
    (upright ? cell.upright : cell.level).change(static_cast<int>(r) + 1, by);
    if (sheet_.runs[r].heavy && !upright) cell.heavy = static_cast<std::int16_t>(cell.heavy + by);
  });
}

bool Tracks::slot_free(const Cell& left, int width, std::size_t r, bool on_line) const {
  const Run& run = sheet_.runs[r];
  const int markers_from = left.x + width - 2 * run.markers, me = static_cast<int>(r) + 1;
  for (int x = left.x; x < left.x + width; ++x) {
    const Cell below{x, left.y}, above{x, left.y - 1};
    // A marker also covers the upper part of the slot under the line.
    if (x >= markers_from && inside({x, left.y + 1}) && has_text({x, left.y + 1}, r)) return false;
    if (!inside(below) || !inside(above) || is_body(above)) return false;
    if (!on_line && is_body(below)) return false;
    const Ground &low = cells_[at(below)], &high = cells_[at(above)];
    if (low.texts.by_other(me)) return false;
    // A thick line lifts its text into the row above, and reaches into the row below.
    if (high.heavy > 0 && high.level.by_other(me)) return false;
    if (run.heavy && (high.level.by_other(me) || high.texts.by_other(me))) return false;
    // Nothing upright may run through the slot: a run is in it when it holds both cells upright.
    if (low.upright.count > 0 && high.upright.count > 0 &&
        (low.upright.count > 1 || high.upright.count > 1 || low.upright.mix == high.upright.mix))
      return false;
    // Beside an upright line: no level line just above or below, whose text it would seem to be.
    if (!on_line && (low.level.count > 0 || high.level.count > 0)) return false;
  }
  return true;
}

void Tracks::find_label(std::size_t r) {
  Run& run = sheet_.runs[r];
  run.label.reset();
  run.beside = run.before = run.crowded = false;
  double best_score = -1e9;
  for (std::size_t i = 0; i + 1 < run.path.size(); ++i) {
    const Cell p = run.path[i], q = run.path[i + 1];
    if (p.y == q.y) {
      const int low = std::min(p.x, q.x), length = std::abs(p.x - q.x) + 1, spare = length - run.text_cells;
      for (int shift = 0; shift <= spare; ++shift) {
        const double score = std::min(spare, 10) - 0.15 * std::abs(2 * shift - spare);
        const Cell left{low + shift, p.y};
        if (score <= best_score || !slot_free(left, run.text_cells, r, true)) continue;
        best_score = score, run.label = left, run.beside = run.before = false;
      }
      continue;
    }
    for (int y = std::min(p.y, q.y) + 1; y <= std::max(p.y, q.y); ++y) {
      const double score = -10 - 0.2 * std::abs(2 * y - p.y - q.y);
      for (const int x : {p.x + 1, p.x - run.text_cells}) {
        const Cell left{x, y};
        if (score <= best_score || !slot_free(left, run.text_cells, r, false)) continue;
        best_score = score, run.label = left, run.beside = true, run.before = x < p.x;
      }
    }
  }
  if (!run.label) {
    run.crowded = true;
    std::size_t longest = 0;
    const auto length = [&](std::size_t i) { return std::abs(run.path[i].x - run.path[i + 1].x); };
    for (std::size_t i = 0; i + 1 < run.path.size(); ++i) longest = length(i) > length(longest) ? i : longest;
    run.label = Cell{std::min(run.path[longest].x, run.path[longest + 1].x), run.path[longest].y};
  }
  each_cell(run, [&](const Cell& c, bool upright) { run.crowded |= taken(c, upright, r); });
}

void Tracks::mark_label(std::size_t r, int by) {
  const Run& run = sheet_.runs[r];
  if (!run.label) return;
  const auto mark = [&](const Cell& c, bool standing) {
    if (!inside(c)) return;
    Ground& cell = cells_[at(c)];
    cell.texts.change(static_cast<int>(r) + 1, by);
    if (standing) cell.standing = static_cast<std::int16_t>(cell.standing + by);
    if (c.y < run.label->y) cell.lifted = static_cast<std::int16_t>(cell.lifted + by);
  };
  const int end = run.label->x + run.text_cells;
  for (int x = run.label->x; x < end; ++x) {
    mark({x, run.label->y}, run.beside);
    if (x >= end - 2 * run.markers) mark({x, run.label->y + 1}, false);
    if (run.heavy) mark({x, run.label->y - 1}, true);
  }
}

}  // namespace loomproof::diagram
