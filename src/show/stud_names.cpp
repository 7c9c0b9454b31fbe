// Compares the studs of each frame two by two; the one with a single wire is the likely slip.
#include "show/stud_names.h"

#include <algorithm>

#include <fmt/format.h>

#include "read/nearest.h"

namespace loomproof {
namespace {

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

bool tell_apart(const std::string& a, const std::string& b) {
  const std::string longer = a.size() < b.size() ? b : a, shorter = a.size() < b.size() ? a : b;
  const std::size_t same =
      static_cast<std::size_t>(std::mismatch(shorter.begin(), shorter.end(), longer.begin()).first - shorter.begin());
  if (same + 1 >= longer.size()) return true;  // `front` and `fronts`, `rear_l` and `rear_r`
  return std::any_of(a.begin(), a.end(), is_digit) || std::any_of(b.begin(), b.end(), is_digit);
}

}  // namespace

std::vector<std::string> likely_slips_in_studs(const Loom& loom) {
  constexpr std::size_t most_studs = 200;  // a list of thousands is no vehicle, and the work is its square
  std::vector<std::string> out;
  for (const Part& part : loom.parts) {
    if (!loom.kind_of(part).is_frame || part.terminals.size() > most_studs) continue;
    const auto ends = [&](TerminalIndex t) {
      return std::count_if(loom.wires.begin(), loom.wires.end(),
                           [&](const Wire& wire) { return wire.from == t || wire.to == t; });
    };
    for (std::size_t i = 0; i < part.terminals.size(); ++i) {
      for (std::size_t k = 0; k < i; ++k) {
        TerminalIndex first = part.terminals[k], second = part.terminals[i];
        const std::string &a = loom.terminal(first).name, &b = loom.terminal(second).name;
        if (!is_one_slip(a, b) || tell_apart(a, b) || std::min(ends(first), ends(second)) > 1) continue;
        if (ends(first) < ends(second)) std::swap(first, second);
        out.push_back(fmt::format("'{}' taken as a stud of its own beside '{}': write one name if it is one stud",
                                  loom.title(second), loom.title(first)));
      }
    }
  }
  return out;
}

}  // namespace loomproof
