// A loom that is too long for one sheet, divided over several.
#include "show/diagram_split.h"

#include <algorithm>
#include <numeric>

#include "show/diagram_route.h"
#include "show/diagram_size.h"

namespace loomproof::diagram {
namespace {

constexpr double usual_looseness = 1.75;  // free cells per used cell at which a sheet still looks clean
constexpr int tag_cells = 3 * 28;         // the stub and tag of a wire that goes on elsewhere

struct Cluster {
  std::vector<std::size_t> blocks;
  double area = 0;        // claimed by the blocks themselves
  std::vector<int> ties;  // by cluster: wires to it
  int outward = 0;        // wires to all others
  bool gone = false;

  double needed() const { return area + outward * tag_cells; }
};

/// What the two would need as one: the wires between them need no tags.
double needed_together(const Cluster& a, const Cluster& b, int between) {
  return a.needed() + b.needed() - 2.0 * between * tag_cells;
}

void merge(std::vector<Cluster>& clusters, std::size_t into, std::size_t from) {
  Cluster &a = clusters[into], &b = clusters[from];
  a.blocks.insert(a.blocks.end(), b.blocks.begin(), b.blocks.end());
  a.area += b.area;
  a.outward += b.outward - 2 * a.ties[from];
  for (std::size_t c = 0; c < clusters.size(); ++c) {
    if (c == into || c == from) continue;
    a.ties[c] += b.ties[c];
    clusters[c].ties[into] += clusters[c].ties[from];
    clusters[c].ties[from] = 0;
  }
  a.ties[from] = b.ties[into] = 0;
  b.gone = true;
}

std::vector<Cluster> each_alone(const Sheet& whole) {
  std::vector<Cluster> clusters(whole.blocks.size());
  for (std::size_t b = 0; b < whole.blocks.size(); ++b) {
    clusters[b].blocks = {b};
    clusters[b].area = claimed_area(whole.blocks[b]);
    clusters[b].ties.assign(clusters.size(), 0);
  }
  for (const Run& run : whole.runs) {
    if (is_stub(whole, run) || run.block_a == run.block_b) continue;
    ++clusters[run.block_a].ties[run.block_b];
    ++clusters[run.block_b].ties[run.block_a];
    ++clusters[run.block_a].outward;
    ++clusters[run.block_b].outward;
  }
  return clusters;
}

/// Joins what has the most wires in common for its size, while it fits; then what has none, to save sheets.
void join(std::vector<Cluster>& clusters, double room) {
  for (;;) {
    double best = -1;
    std::size_t into = 0, from = 0;
    for (std::size_t a = 0; a < clusters.size(); ++a) {
      if (clusters[a].gone) continue;
      for (std::size_t b = a + 1; b < clusters.size(); ++b) {
        if (clusters[b].gone) continue;
        const int between = clusters[a].ties[b];
        if (needed_together(clusters[a], clusters[b], between) > room) continue;
        const double score = (between + 0.001) / (clusters[a].area + clusters[b].area);
        if (score > best) best = score, into = a, from = b;
      }
    }
    if (best < 0) return;
    merge(clusters, into, from);
  }
}

}  // namespace

std::vector<int> sheets_of_parts(const Sheet& whole, const std::vector<int>& picked, double airier) {
  const double looseness = usual_looseness * airier;
  Sheet trial = whole;
  for (const Fit& fit : fits_to_try()) {
    if (fit.scale < smallest_scale || fit.looseness < looseness) break;
    if (size_sheet(trial, fit)) return picked;
  }
  set_grid(trial, smallest_scale);
  const double room = trial.columns * trial.rows / looseness;
  std::vector<Cluster> clusters = each_alone(whole);
  // The main way is one thing, and so is the way back.
  std::vector<std::size_t> way = whole.spine;
  way.insert(way.end(), whole.return_spine.begin(), whole.return_spine.end());
  for (std::size_t b = 0; b < whole.blocks.size(); ++b) {
    if (whole.blocks[b].figure == Figure::motor && !way.empty()) way.push_back(b);
  }
  for (const std::size_t b : way) {
    if (b != way.front() && !clusters[b].gone) merge(clusters, way.front(), b);
  }
  join(clusters, room);
  std::vector<int> sheets = picked;
  std::vector<std::size_t> order;
  for (std::size_t c = 0; c < clusters.size(); ++c) {
    if (!clusters[c].gone) order.push_back(c);
  }
  const auto first = [&](std::size_t c) { return !way.empty() && c == way.front(); };
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return first(a) != first(b) ? first(a) : clusters[a].area > clusters[b].area;
  });
  for (std::size_t i = 0; i < order.size(); ++i) {
    for (const std::size_t b : clusters[order[i]].blocks) {
      if (whole.blocks[b].part) sheets[whole.blocks[b].part->value] = static_cast<int>(i) + 1;
    }
  }
  return sheets;
}

}  // namespace loomproof::diagram
