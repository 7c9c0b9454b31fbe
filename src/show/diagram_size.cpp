// How large the sheet is, and the main way from pack to motor laid straight across it.
#include "show/diagram_size.h"

#include <algorithm>
#include <cmath>

#include "show/diagram_lines.h"

namespace loomproof::diagram {
namespace {

constexpr int edge = 1;  // cells kept free along the sheet's edge

int side_margin(const Block& block, bool left) {
  const auto used = std::count_if(block.ports.begin(), block.ports.end(), [&](const Port& p) {
    return p.on_left == left && p.wire && p.ending == Ending::block;
  });
  return used == 0 ? 1 : std::min(5, 2 + static_cast<int>(used) / 4);
}

/// Cells between two neighbours of the main way: the widest text on a line there, or a stub that reaches in.
int text_between(const Sheet& sheet, std::size_t a, std::size_t b) {
  int cells = 4;
  for (const Port& port : sheet.blocks[a].ports) {
    if (port.ending != Ending::block && !port.on_left) cells = std::max(cells, port.stub_cells + port.mark_cells + 2);
  }
  for (const Run& run : sheet.runs) {
    const bool joins = (run.block_a == a && run.block_b == b) || (run.block_a == b && run.block_b == a);
    if (joins) cells = std::max(cells, run.text_cells + 1);
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

void move_ways(Sheet& sheet, int rows) {
  for (Block& block : sheet.blocks) {
    if (block.fixed) block.y += rows;
  }
  for (Box& box : sheet.corridors) box.y += rows;
}

/// The zone's name stands in the lower right corner of its region.
void name_region(Sheet& sheet, Zone zone, int bottom) {
  const int width = cells_for(std::string(look_of(zone).name)) + 1;
  sheet.zone_names.push_back({sheet.columns - width, bottom - 1, width, 1});
}

/// The main way's corridor from block to block.
void keep_way_free(Sheet& sheet, const std::vector<std::size_t>& line) {
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    const Block &here = sheet.blocks[line[i]], &next = sheet.blocks[line[i + 1]];
    const int x = here.x + here.width, row = here.y + way_row(sheet, line[i], line[i + 1]);
    // Between controller and motor the phases run side by side.
    int last = row;
    for (const Run& run : sheet.runs) {
      if (run.heavy && run.block_a == line[i] && run.block_b == line[i + 1])
        last = std::max(last, here.y + here.ports[run.port_a].row);
    }
    sheet.corridors.push_back({x, row - 1, next.x - x, last - row + 2});
  }
}

}  // namespace

std::vector<Fit> fits_to_try() {
  // Hundredths, because SVG from dot tells a scale in no more digits.
  constexpr int largest = 116, smallest = static_cast<int>(smallest_scale * 100 + 0.5);
  constexpr double roomy = 2.4;
  std::vector<Fit> fits;
  for (int hundredths = largest; hundredths > smallest; hundredths -= 4) fits.push_back({hundredths / 100.0, roomy});
  for (double looseness = roomy; looseness > 1.2; looseness *= 0.94) fits.push_back({smallest / 100.0, looseness});
  for (int hundredths = smallest - 2; hundredths > 4; hundredths -= 2) fits.push_back({hundredths / 100.0, 1.35});
  return fits;
}

void set_grid(Sheet& sheet, double scale) {
  sheet.scale = scale;
  sheet.columns = static_cast<int>((sheet.paper.width_pt - 2 * paper_margin_pt) / scale / cell_pt);
  sheet.rows = static_cast<int>(((sheet.paper.height_pt - 2 * paper_margin_pt) / scale - strip_pt) / cell_pt);
}

bool size_sheet(Sheet& sheet, const Fit& fit) {
  set_grid(sheet, fit.scale);
  for (Block& block : sheet.blocks) block.fixed = false;
  sheet.corridors.clear();
  sheet.upper_rows = 0;
  const std::vector<std::size_t> line = with_motor(sheet);
  for (const auto& way : {line, sheet.return_spine}) {
    for (const std::size_t b : way) sheet.blocks[b].upper = true, sheet.blocks[b].anywhere = false;
  }
  double upper = 0, lower = 0;
  int tallest_lower = 0;
  for (const Block& block : sheet.blocks) {
    if (block.anywhere) {
      upper += claimed_area(block) / 2.0, lower += claimed_area(block) / 2.0;
    } else {
      (block.upper ? upper : lower) += claimed_area(block);
    }
    if (!block.upper && !block.anywhere) tallest_lower = std::max(tallest_lower, block.height + 3);
  }
  if ((upper + lower) * fit.looseness > sheet.columns * sheet.rows) return false;
  if (way_width(sheet, line) > sheet.columns) return false;
  int needed = 0;
  if (!line.empty()) {
    // Room above the main way for what bridges it (precharge), below it for what hangs on it.
    const bool others = std::any_of(sheet.blocks.begin(), sheet.blocks.end(), [&](const Block& block) {
      return block.upper && std::find(line.begin(), line.end(), &block - sheet.blocks.data()) == line.end();
    });
    set_way(sheet, line, 0);
    int top = 0;
    for (const std::size_t b : line) top = std::min(top, sheet.blocks[b].y - sheet.blocks[b].marker_rows());
    set_way(sheet, line, edge + 1 - top + (others ? 9 : 0));
    keep_way_free(sheet, line);
    set_return(sheet);
    for (const std::size_t b : line) needed = std::max(needed, sheet.blocks[b].y + sheet.blocks[b].height + 2);
    for (const std::size_t b : sheet.return_spine)
      needed = std::max(needed, sheet.blocks[b].y + sheet.blocks[b].height + 2);
  }
  sheet.zone_names.clear();
  if (upper <= 0) {
    name_region(sheet, Zone::low_voltage, sheet.rows);
    return tallest_lower <= sheet.rows;
  }
  const int share = static_cast<int>(sheet.rows * upper / (upper + lower));
  sheet.upper_rows = tallest_lower == 0 ? sheet.rows : std::max(needed, std::min(share, sheet.rows - tallest_lower));
  // Much room: the way stands nearer to the middle.
  if (sheet.upper_rows > needed + 12) move_ways(sheet, (sheet.upper_rows - needed) / 4);
  name_region(sheet, Zone::traction, sheet.upper_rows);
  if (sheet.upper_rows < sheet.rows) name_region(sheet, Zone::low_voltage, sheet.rows);
  return sheet.upper_rows + tallest_lower <= sheet.rows;
}

std::vector<Box> claim_of(const Block& block) {
  const int left = side_margin(block, true), right = side_margin(block, false);
  std::vector<Box> claim{{-left, -1, block.width + left + right, block.height + 2}};
  if (block.markers > 0) claim.push_back({0, -1 - block.marker_rows(), block.width + 1, block.marker_rows() + 1});
  for (const Port& port : block.ports) {
    if (port.ending == Ending::block) continue;
    const int reach = port.stub_cells + port.mark_cells + 1;
    claim.push_back({port.on_left ? -reach : block.width, port.row - 1, reach, 3});
  }
  return claim;
}

int claimed_area(const Block& block) {
  int area = 0;
  for (const Box& box : claim_of(block)) area += box.width * box.height;
  return area;
}

}  // namespace loomproof::diagram
