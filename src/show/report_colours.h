// The colours of the report, once for light and once for dark, and which of them meet as text and ground.
#pragma once

#include <array>
#include <string>
#include <string_view>

namespace loomproof::report {

struct Tone {
  std::string_view name;  // the CSS variable is --name
  std::string_view light, dark;
};

inline constexpr std::array tones{
    Tone{"paper", "#ffffff", "#15181b"},    // the page
    Tone{"panel", "#f3f4f1", "#1f2428"},    // boxes on it
    Tone{"ink", "#1a1e22", "#e9ebed"},      // text
    Tone{"faint", "#4c545b", "#aeb6bd"},    // text of less weight
    Tone{"rule", "#767e85", "#7f8890"},     // lines and borders that mean something
    Tone{"grid", "#d5d8d6", "#3a4046"},     // lines that only help the eye
    Tone{"link", "#0b4f8a", "#8cc4ff"},     // links, focus, what is chosen
    Tone{"danger", "#a01418", "#ff9d97"},   // words of a broken obligation
    Tone{"caution", "#704400", "#f5bf6b"},  // words of an undecided one
    Tone{"good", "#155e2e", "#7fd69b"},     // words of one that holds
    Tone{"chosen", "#fff0b8", "#4a3f10"},   // ground of the chosen row
    Tone{"band", "#d9d2e6", "#4a4259"},     // a fuse's band
    Tone{"k0", "#0b4f8a", "#8cc4ff"},       // lines of the charts
    Tone{"k1", "#a04300", "#ffb07a"},      Tone{"k2", "#17603c", "#79d3a2"}, Tone{"k3", "#74297c", "#e3a4ec"},
    Tone{"k4", "#8a1538", "#ff9fb8"},      Tone{"k5", "#454d54", "#c3cad0"},
};

/// Two tones that meet, and the contrast ratio that WCAG 2 level AA asks of them: 4.5 for text, 3 for graphics.
struct Meeting {
  std::string_view over, ground;
  double least;
};

inline constexpr std::array meetings{
    Meeting{"ink", "paper", 4.5},     Meeting{"ink", "panel", 4.5},     Meeting{"ink", "chosen", 4.5},
    Meeting{"faint", "paper", 4.5},   Meeting{"faint", "panel", 4.5},   Meeting{"faint", "chosen", 4.5},
    Meeting{"link", "paper", 4.5},    Meeting{"link", "panel", 4.5},    Meeting{"link", "chosen", 4.5},
    Meeting{"danger", "paper", 4.5},  Meeting{"danger", "panel", 4.5},  Meeting{"danger", "chosen", 4.5},
    Meeting{"caution", "paper", 4.5}, Meeting{"caution", "panel", 4.5}, Meeting{"caution", "chosen", 4.5},
    Meeting{"good", "paper", 4.5},    Meeting{"good", "panel", 4.5},    Meeting{"good", "chosen", 4.5},
    Meeting{"paper", "ink", 4.5},     Meeting{"paper", "danger", 4.5},  // white on dark: markers
    Meeting{"rule", "paper", 3},      Meeting{"rule", "panel", 3},      Meeting{"ink", "band", 4.5},
    Meeting{"k0", "paper", 4.5},      Meeting{"k1", "paper", 4.5},      Meeting{"k2", "paper", 4.5},
    Meeting{"k3", "paper", 4.5},      Meeting{"k4", "paper", 4.5},      Meeting{"k5", "paper", 4.5},
    Meeting{"k0", "band", 3},         Meeting{"k1", "band", 3},         Meeting{"k2", "band", 3},
    Meeting{"k3", "band", 3},         Meeting{"k4", "band", 3},         Meeting{"k5", "band", 3},
};

/// The tones as CSS variables: light, dark where the reader asks for it, light again on paper.
std::string colour_rules();

}  // namespace loomproof::report
