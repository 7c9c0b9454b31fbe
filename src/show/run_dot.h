// The one place that starts another program: Graphviz's `dot`, without a shell, bounded in time and in output.
#pragma once

#include <chrono>
#include <cstddef>
#include <string>
#include <string_view>

namespace loomproof {

enum class DrawFormat { svg, pdf, png };

enum class DrawOutcome {
  drawn,
  missing,    // no `dot` on PATH: the caller says "install the package graphviz" and ends with exit code 4
  timed_out,  // it was killed
  failed,     // it ended with an error, or gave more than the bound, or what it gave is no such file
};

struct DrawResult {
  DrawOutcome outcome = DrawOutcome::failed;
  std::string bytes;  // the file, when drawn; svg without the line that names Graphviz's version
  std::string error;  // one sentence, with dot's own first words on stderr where it said any; empty when drawn
};

struct DrawBounds {
  std::chrono::milliseconds time{30'000};
  std::size_t bytes = 64u << 20;
};

/// Renders DOT text. Nothing is written to disk; the search path is the caller's PATH, absolute folders only.
DrawResult draw(std::string_view dot_text, DrawFormat, const DrawBounds& = {});

}  // namespace loomproof
