// The tones as CSS variables.
#include "show/report_colours.h"

#include <fmt/format.h>

namespace loomproof::report {

std::string colour_rules() {
  std::string light, dark;
  for (const Tone& tone : tones) {
    light += fmt::format("--{}:{};", tone.name, tone.light);
    dark += fmt::format("--{}:{};", tone.name, tone.dark);
  }
  return fmt::format(
      ":root{{color-scheme:light dark;{}}}\n@media screen and (prefers-color-scheme:dark){{:root{{{}}}}}\n"
      "@media print{{:root{{color-scheme:light}}}}\n",
      light, dark);
}

}  // namespace loomproof::report
