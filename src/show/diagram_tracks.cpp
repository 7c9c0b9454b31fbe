// Which cells of the sheet bodies, lines and texts have taken.
#include "show/diagram_tracks.h"

#include <algorithm>
#include <cstdlib>

namespace loomproof::diagram {
namespace {

bool held_by_other(const std::vector<std::int32_t>& owners, std::size_t run) {
  return std::any_of(owners.begin(), owners.end(), [&](std::int32_t o) { return o != static_cast<std::int32_t>(run); });
}

}  // namespace

Tracks::Tracks(Sheet& sheet) : Tracks(static_cast<const Sheet&>(sheet)) {
  writable_ = &sheet;
}

Tracks::Tracks(const Sheet& sheet) : sheet_(sheet), columns_(sheet.columns), rows_(sheet.rows) {
  const std::size_t cells = static_cast<std::size_t>(columns_) * rows_;
  body_.assign(cells, false);
  margin_.assign(cells, false);
  standing_.assign(cells, false);
  level_.resize(cells);
  upright_.resize(cells);
  exit_.assign(cells, -1);
  text_.assign(cells, -1);
  block_bodies();
  for (std::size_t r = 0; r < sheet.runs.size(); ++r) {
    const Run& run = sheet.runs[r];
    for (const auto& [block, port] : {std::pair{run.block_a, run.port_a}, std::pair{run.block_b, run.port_b}}) {
      const Block& b = sheet.blocks[block];
      const Cell out = b.outside(b.ports[port]);
      if (inside(out)) exit_[at(out)] = static_cast<std::int32_t>(r);
    }
    if (run.path.size() >= 2) put_line(r);
  }
}

void Tracks::block_bodies() {
  for (const Block& block : sheet_.blocks) {
    for (int y = block.y - 1; y <= block.y + block.height; ++y) {
      for (int x = block.x - 1; x <= block.x + block.width; ++x) {
        if (!inside({x, y})) continue;
        margin_[at({x, y})] = true;
        const bool within = y >= block.y && y < block.y + block.height && x >= block.x && x < block.x + block.width;
        if (within) body_[at({x, y})] = true;
      }
    }
    // Earth stubs are lines that are already laid: nothing passes over them or their text.
    for (const Port& port : block.ports) {
      if (!port.earth) continue;
      const int reach = port.stub_cells + 1 + cells_for(port.stud, small_text_pt);
      for (int step = 1; step <= reach; ++step) {
        const Cell c{block.at(port).x + (port.on_left ? -step : step), block.at(port).y};
        if (!inside(c)) continue;
        body_[at(c)] = true;
        if (step <= port.stub_cells && inside({c.x, c.y - 1})) margin_[at({c.x, c.y - 1})] = true;
      }
    }
  }
}

bool Tracks::taken(const Cell& c, bool upright, std::size_t run) const {
  return held_by_other(upright ? upright_[at(c)] : level_[at(c)], run);
}

bool Tracks::is_exit_of_other(const Cell& c, std::size_t run) const {
  return exit_[at(c)] != -1 && exit_[at(c)] != static_cast<std::int32_t>(run);
}

bool Tracks::has_text(const Cell& c, std::size_t run) const {
  return text_[at(c)] != -1 && text_[at(c)] != static_cast<std::int32_t>(run);
}

bool Tracks::has_standing_text(const Cell& c, std::size_t run) const {
  return has_text(c, run) && standing_[at(c)];
}

template <class Visit>
void Tracks::each_cell(const Run& run, Visit visit) const {
  for (std::size_t i = 0; i + 1 < run.path.size(); ++i) {
    const Cell p = run.path[i], q = run.path[i + 1];
    const bool upright = p.x == q.x && p.y != q.y;
    const int steps = std::abs(p.x - q.x) + std::abs(p.y - q.y);
    for (int s = 0; s <= steps; ++s) {
      const Cell c{p.x + (q.x - p.x) * s / std::max(1, steps), p.y + (q.y - p.y) * s / std::max(1, steps)};
      if (inside(c)) visit(c, upright);
    }
  }
}

void Tracks::put_line(std::size_t r) {
  each_cell(sheet_.runs[r], [&](const Cell& c, bool upright) {
    std::vector<std::int32_t>& owners = upright ? upright_[at(c)] : level_[at(c)];
    if (owners.empty() || owners.back() != static_cast<std::int32_t>(r)) owners.push_back(static_cast<std::int32_t>(r));
  });
}

void Tracks::remove(std::size_t r) {
  each_cell(sheet_.runs[r], [&](const Cell& c, bool upright) {
    std::erase(upright ? upright_[at(c)] : level_[at(c)], static_cast<std::int32_t>(r));
  });
  std::replace(text_.begin(), text_.end(), static_cast<std::int32_t>(r), -1);
}

bool Tracks::slot_free(const Cell& left, int width, std::size_t run, bool on_line) const {
  const int markers_from = left.x + width - 2 * sheet_.runs[run].markers;
  for (int x = left.x; x < left.x + width; ++x) {
    const Cell below{x, left.y}, above{x, left.y - 1};
    // A marker also covers the upper part of the slot under the line.
    if (x >= markers_from && inside({x, left.y + 1}) && text_[at({x, left.y + 1})] != -1) return false;
    if (!inside(below) || !inside(above) || is_body(above)) return false;
    if (!on_line && is_body(below)) return false;
    if (text_[at(below)] != -1) return false;
    // A thick line lifts its text into the row above.
    if (sheet_.runs[run].heavy && (held_by_other(level_[at(above)], run) || text_[at(above)] != -1)) return false;
    // Nothing upright may run through the slot: a run is in it when it holds both cells upright.
    for (const std::int32_t o : upright_[at(below)]) {
      if (std::find(upright_[at(above)].begin(), upright_[at(above)].end(), o) != upright_[at(above)].end())
        return false;
    }
    // Beside an upright line: no level line of another's just below, whose text it would seem to be.
    if (!on_line && (held_by_other(level_[at(below)], run) || held_by_other(level_[at(above)], run))) return false;
  }
  return true;
}

void Tracks::put_label(std::size_t r) {
  Run& run = writable_->runs[r];
  run.label.reset();
  run.beside = run.crowded = false;
  double best_score = -1e9;
  for (std::size_t i = 0; i + 1 < run.path.size(); ++i) {
    const Cell p = run.path[i], q = run.path[i + 1];
    if (p.y == q.y) {
      const int low = std::min(p.x, q.x), length = std::abs(p.x - q.x) + 1, spare = length - run.text_cells;
      for (int shift = 0; shift <= spare; ++shift) {
        const Cell left{low + shift, p.y};
        if (!slot_free(left, run.text_cells, r, true)) continue;
        const double score = std::min(spare, 10) - 0.15 * std::abs(2 * shift - spare);
        if (score > best_score) best_score = score, run.label = left, run.beside = false;
      }
      continue;
    }
    for (int y = std::min(p.y, q.y) + 1; y <= std::max(p.y, q.y); ++y) {
      const Cell left{p.x + 1, y};
      if (!slot_free(left, run.text_cells, r, false)) continue;
      const double score = -10 - 0.2 * std::abs(2 * y - p.y - q.y);
      if (score > best_score) best_score = score, run.label = left, run.beside = true;
    }
  }
  if (!run.label) {
    run.crowded = true;
    std::size_t longest = 0;
    const auto length = [&](std::size_t i) { return std::abs(run.path[i].x - run.path[i + 1].x); };
    for (std::size_t i = 0; i + 1 < run.path.size(); ++i) longest = length(i) > length(longest) ? i : longest;
    run.label = Cell{std::min(run.path[longest].x, run.path[longest + 1].x), run.path[longest].y};
  }
  for (int x = run.label->x; x < run.label->x + run.text_cells; ++x) {
    const Cell c{x, run.label->y};
    if (!inside(c)) continue;
    text_[at(c)] = static_cast<std::int32_t>(r);
    standing_[at(c)] = run.beside;
    if (const Cell under{x, c.y + 1}; x >= run.label->x + run.text_cells - 2 * run.markers && inside(under)) {
      text_[at(under)] = static_cast<std::int32_t>(r);
    }
    const Cell above{x, c.y - 1};
    if (run.heavy && inside(above)) {
      text_[at(above)] = static_cast<std::int32_t>(r);
      standing_[at(above)] = true;
    }
  }
  each_cell(run, [&](const Cell& c, bool upright) { run.crowded |= taken(c, upright, r); });
}

int Tracks::crossings() const {
  int count = 0;
  for (std::size_t c = 0; c < level_.size(); ++c)
    count += !level_[c].empty() && !upright_[c].empty() && held_by_other(upright_[c], level_[c].front()) ? 1 : 0;
  return count;
}

}  // namespace loomproof::diagram
