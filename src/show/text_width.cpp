// How wide a text will stand on paper, whichever sans-serif face the viewer has.
#include "show/text_width.h"

#include <algorithm>
#include <array>

#include "show/wash.h"

namespace loomproof {
namespace {

// Advance widths of U+0020 to U+007E in 1/1000 em, read from the `hmtx` tables of DejaVu Sans and DejaVu Sans Bold 2.37
// (Debian package fonts-dejavu-core): the widest of the faces that a viewer puts in for Helvetica.
constexpr std::array<short, 95> regular{
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361,  318, 337, 636, 636, 636,
    636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632,
    575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635,  611, 732, 684, 989, 685,
    611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352,  635, 634, 278, 278, 579,
    278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592,  525, 636, 337, 636, 838,
};
constexpr std::array<short, 95> bold_face{
    348, 456,  521, 838, 696, 1002, 872, 306, 457, 457, 523, 838, 380, 415,  380, 365, 696, 696,  696,
    696, 696,  696, 696, 696, 696,  696, 400, 400, 838, 838, 838, 580, 1000, 774, 762, 734, 830,  683,
    683, 821,  837, 372, 372, 775,  637, 995, 837, 850, 733, 850, 770, 720,  682, 812, 774, 1103, 771,
    724, 725,  457, 365, 457, 838,  500, 500, 675, 716, 593, 716, 678, 435,  716, 712, 343, 343,  665,
    343, 1042, 712, 687, 716, 716,  493, 595, 478, 712, 652, 924, 645, 652,  582, 712, 365, 712,  838,
};
constexpr double other_em = 0.8;  // Latin, Greek and Cyrillic letters beyond ASCII; a wide character counts twice

}  // namespace

double text_width_pt(std::string_view text, double size_pt, bool bold) {
  const std::array<short, 95>& widths = bold ? bold_face : regular;
  double em = 0;
  for (const Glyph& glyph : glyphs_of(text)) {
    const auto first = static_cast<unsigned char>(glyph.text[0]);
    em += glyph.text.size() == 1 && first >= 0x20 && first < 0x7F ? widths[first - 0x20] / 1000.0
                                                                  : other_em * static_cast<double>(glyph.width);
  }
  return em * size_pt;
}

}  // namespace loomproof
