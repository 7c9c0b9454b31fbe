// Errors of a file that cannot be used, in the same shape as findings.
#include <fmt/format.h>

#include "show/excerpt.h"
#include "show/show.h"
#include "show/wash.h"

namespace loomproof {

std::string text_of_faults(std::string_view file, const std::vector<ReadFault>& faults,
                           const std::vector<std::string>& lines, const TextStyle& style) {
  const Paint paint = paint_of(style.colour);
  std::string out;
  for (const ReadFault& fault : faults) {
    out += fmt::format("{}error{}: {}{}{}\n", paint.danger, paint.off, paint.strong, washed(fault.what), paint.off);
    out += excerpt_of(file, fault.at, lines, paint);
    if (!fault.hint.empty()) {
      const std::string gutter(fault.at ? std::to_string(fault.at.line).size() + 1 : 2, ' ');
      out += fmt::format("{}{}={} {}\n", gutter, paint.faint, paint.off, washed(fault.hint));
    }
    out += "\n";
  }
  out += fmt::format("{}{}: {} error{}, nothing was checked{}\n", paint.danger, washed(file), faults.size(),
                     faults.size() == 1 ? "" : "s", paint.off);
  return out;
}

}  // namespace loomproof
