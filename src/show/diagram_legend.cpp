// The legend along the lower edge, and the margins of the page.
#include "show/diagram_legend.h"

#include "show/diagram_lines.h"
#include "show/diagram_symbols.h"

namespace loomproof::diagram {

Margins margins_of(const Sheet& sheet) {
  Margins margins;
  margins.bottom = 24;
  margins.width = sheet.columns * cell_pt + 2 * margins.side;
  margins.height = sheet.rows * cell_pt + margins.bottom + 26;
  return margins;
}

void draw_legend(Ink& ink, const Sheet&, const Margins& margins) {
  constexpr double size = 6.8;
  const double y = 10;
  double x = margins.side;
  const auto say = [&](std::string_view words) {
    ink.pen("#1a1a1a", 1);
    ink.text({x, y - 2.5}, words, size);
    x += 0.57 * size * static_cast<double>(words.size()) + 10;
  };
  const auto sample = [&](Zone zone) {
    const ZoneLook& look = look_of(zone);
    if (!look.casing.empty()) {
      ink.pen(look.casing, 3.4);
      ink.line({{x, y}, {x + 24, y}});
    }
    ink.pen(look.tint, 1.6, look.pattern);
    ink.line({{x, y}, {x + 24, y}});
    x += 28;
    say(look.name);
  };
  sample(Zone::traction);
  sample(Zone::low_voltage);
  sample(Zone::signal);
  sample(Zone::none);
  ink.pen("#1d5794", 1);
  ink.line({{x, y}, {x + 8, y}});
  draw_earth(ink, {x + 8, y}, 1);
  x += 18;
  say("frame, at that stud");
  say("T1 35 RD: wire, mm2, colour");
  say("heavier: larger wire");
  ink.pen("#000000", 1);
  ink.fill("#000000");
  ink.circle({x + 4, y}, 4.5, true);
  x += 12;
  say("finding: broken");
  ink.pen("#000000", 1);
  ink.fill("#ffffff");
  ink.box({x + 4, y}, 9, 9, true);
  x += 12;
  say("undecided");
}

}  // namespace loomproof::diagram
