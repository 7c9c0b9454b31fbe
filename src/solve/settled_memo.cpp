// What a network settled to, kept for the next time that it starts the same way.
#include "solve/settled_memo.h"

namespace loomproof {
namespace {

constexpr std::size_t most_bytes = std::size_t{16} << 20;

}  // namespace

void SettledMemo::clear() {
  place_.clear();
  modes_.clear();
  numbers_.clear();
}

bool SettledMemo::find() {
  const auto at = place_.find(key_);
  if (at == place_.end()) return false;
  found_ = at->second;
  return true;
}

void SettledMemo::keep(const std::vector<std::uint8_t>& modes, const std::vector<double>& numbers) {
  const std::size_t bytes = key_.size() + modes.size() + numbers.size() * sizeof(double);
  if ((place_.size() + 1) * bytes > most_bytes) clear();
  modes_each_ = modes.size();
  numbers_each_ = numbers.size();
  place_.emplace(key_, place_.size());
  modes_.insert(modes_.end(), modes.begin(), modes.end());
  numbers_.insert(numbers_.end(), numbers.begin(), numbers.end());
}

}  // namespace loomproof
