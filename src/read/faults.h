// The errors of one file while it is read: every one kept, each with the nearest known name as its hint.
#pragma once

#include <concepts>
#include <string>
#include <string_view>
#include <vector>

#include "read/read.h"

namespace loomproof {

class Faults {
 public:
  void add(Place at, std::string what, std::string hint = {});

  /// "did you mean 'x'?" for the known name nearest to `name`; empty when none is near. A file with hundreds of
  /// misspelt names gets hints for the first of them only, so that the search never dominates.
  std::string near(std::string_view name, const std::vector<std::string_view>& known);
  /// The same for names that are only worth listing when there is a hint left to give.
  template <class List>
  requires std::invocable<List> std::string near(std::string_view name, List list) {
    return hints_left_ > 0 ? near(name, list()) : std::string();
  }

  bool has_hints() const { return hints_left_ > 0; }

  bool empty() const { return faults_.empty(); }
  std::size_t count() const { return faults_.size(); }

  /// Ordered by place, without repetitions; past `most` faults the last one says how many were left out.
  std::vector<ReadFault> sorted(std::size_t most) &&;

 private:
  std::vector<ReadFault> faults_;
  int hints_left_ = 300;
};

/// `'a', 'b' and 'c'`; past a dozen the rest is only counted.
std::string listed(const std::vector<std::string_view>& names);

}  // namespace loomproof
