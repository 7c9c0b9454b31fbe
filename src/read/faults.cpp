// Collecting, ordering and cutting the list of faults.
#include "read/faults.h"

#include <fmt/core.h>

#include <algorithm>
#include <tuple>

#include "read/nearest.h"
#include "units/quote.h"

namespace loomproof {

void Faults::add(Place at, std::string what, std::string hint) {
  faults_.push_back({at, std::move(what), std::move(hint)});
}

std::string Faults::near(std::string_view name, const std::vector<std::string_view>& known) {
  if (hints_left_ <= 0) return {};
  --hints_left_;
  const auto found = find_nearest(name, known);
  return found ? fmt::format("did you mean {}?", quoted(*found)) : std::string{};
}

std::vector<ReadFault> Faults::sorted(std::size_t most) && {
  const auto key = [](const ReadFault& f) { return std::tie(f.at, f.what); };
  std::stable_sort(faults_.begin(), faults_.end(),
                   [&](const ReadFault& a, const ReadFault& b) { return key(a) < key(b); });
  // The same text reached through two aliases is one fault.
  faults_.erase(std::unique(faults_.begin(), faults_.end(),
                            [&](const ReadFault& a, const ReadFault& b) { return key(a) == key(b); }),
                faults_.end());
  if (faults_.size() > most) {
    const std::size_t left_out = faults_.size() - most;
    const Place at = faults_[most].at;
    faults_.resize(most);
    faults_.push_back({at, fmt::format("{} more errors from here on are not listed", left_out), {}});
  }
  return std::move(faults_);
}

std::string listed(const std::vector<std::string_view>& names) {
  constexpr std::size_t most = 12;
  std::string out;
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (i == most) return out + fmt::format(" and {} more", names.size() - most);
    if (i > 0) out += i + 1 == names.size() ? " and " : ", ";
    out += quoted(names[i]);
  }
  return out;
}

}  // namespace loomproof
