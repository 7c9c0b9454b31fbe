// The page of the format on what stands inside a kind: every primitive with every argument.
#pragma once

#include <string>

namespace loomproof {

/// Markdown, from the table of primitives. Throws std::logic_error where an argument has no words, or words no
/// argument.
std::string primitives_section();

}  // namespace loomproof
