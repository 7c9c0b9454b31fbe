// Runs Graphviz's `dot` on a text and hands back what it drew.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace loomproof {

struct Drawn {
  std::optional<std::string> bytes;  // the picture
  std::string error;                 // else: why there is none, as a sentence
};

/// @param format  svg, pdf or png, as `dot -T` names it
Drawn run_dot(std::string_view dot, const std::string& format);

}  // namespace loomproof
