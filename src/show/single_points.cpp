// Single points of failure, one line for each thing that happens.
#include "show/single_points.h"

#include <algorithm>

namespace loomproof {

std::vector<std::string> lines_of(const std::vector<SinglePoint>& points) {
  std::vector<std::string> happens, lines;
  for (const SinglePoint& point : points) {
    const auto known = std::find(happens.begin(), happens.end(), point.happens);
    if (known == happens.end()) {
      happens.push_back(point.happens);
      lines.push_back(point.happens + ": " + point.fault);
    } else {
      lines[static_cast<std::size_t>(known - happens.begin())] += ", " + point.fault;
    }
  }
  return lines;
}

}  // namespace loomproof
