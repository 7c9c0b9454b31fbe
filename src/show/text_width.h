// How wide a text will stand on paper, whichever sans-serif face the viewer has.
#pragma once

#include <string_view>

namespace loomproof {

/// Points that `text`, once washed, fills at most at `size_pt`. Taken from the widest face that stands in for
/// Helvetica, so that a text fits with any of them.
double text_width_pt(std::string_view text, double size_pt, bool bold = false);

}  // namespace loomproof
