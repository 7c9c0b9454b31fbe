// The line of a file that a message is about, with a mark under the thing meant.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "model/place.h"

namespace loomproof {

/// Paints of the terminal; `plain` has none of them.
struct Paint {
  std::string_view strong, danger, caution, good, faint, off;
};
Paint paint_of(bool colour);

/// `  --> file:line:col` and, where the line is at hand, the line itself with a caret below the token at `at`. Long
/// lines are cut around the caret. Empty when `at` is nowhere: then only the file is named. `after` ends the line of
/// the place.
std::string excerpt_of(std::string_view file, Place at, const std::vector<std::string>& lines, const Paint&,
                       std::string_view after = {});

}  // namespace loomproof
