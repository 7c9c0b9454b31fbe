// Edit distance with swaps (optimal string alignment), cut off as soon as it is too large to matter.
#include "read/nearest.h"

#include <algorithm>
#include <array>

namespace loomproof {
namespace {

constexpr std::size_t longest_name = 48;
constexpr std::size_t most_names = 3000;

char plain(char c) {
  if (c >= 'A' && c <= 'Z') return static_cast<char>(c - 'A' + 'a');
  return c == '_' || c == ' ' ? '-' : c;
}

std::size_t slips_between(std::string_view a, std::string_view b) {
  std::array<std::array<std::size_t, longest_name + 1>, 3> rows{};
  for (std::size_t j = 0; j <= b.size(); ++j) rows[0][j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    auto& row = rows[i % 3];
    const auto& above = rows[(i + 2) % 3];
    const auto& two_above = rows[(i + 1) % 3];
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const bool same = plain(a[i - 1]) == plain(b[j - 1]);
      row[j] = std::min({above[j] + 1, row[j - 1] + 1, above[j - 1] + (same ? 0 : 1)});
      const bool swapped = i > 1 && j > 1 && plain(a[i - 1]) == plain(b[j - 2]) && plain(a[i - 2]) == plain(b[j - 1]);
      if (swapped) row[j] = std::min(row[j], two_above[j - 2] + 1);
    }
  }
  return rows[a.size() % 3][b.size()];
}

}  // namespace

bool is_one_slip(std::string_view a, std::string_view b) {
  if (std::max(a.size(), b.size()) > longest_name) return false;
  return std::max(a.size(), b.size()) - std::min(a.size(), b.size()) <= 1 && slips_between(a, b) <= 1;
}

std::optional<std::string_view> find_nearest(std::string_view name, const std::vector<std::string_view>& known) {
  if (name.empty() || name.size() > longest_name) return std::nullopt;
  std::optional<std::string_view> best;
  std::size_t fewest = std::max<std::size_t>(1, name.size() / 3) + 1;
  for (std::size_t i = 0; i < std::min(known.size(), most_names); ++i) {
    const std::string_view candidate = known[i];
    if (candidate.size() > longest_name || candidate.empty()) continue;
    const std::size_t gap =
        candidate.size() > name.size() ? candidate.size() - name.size() : name.size() - candidate.size();
    if (gap >= fewest) continue;
    const std::size_t slips = slips_between(name, candidate);
    // One letter alone is near to every other letter: that is no hint.
    if (slips >= std::max(name.size(), candidate.size())) continue;
    if (slips < fewest) {
      fewest = slips;
      best = candidate;
    }
  }
  return best;
}

}  // namespace loomproof
