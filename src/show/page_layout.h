// Markdown laid out for a terminal.
#pragma once

#include <string>
#include <string_view>

namespace loomproof {

/// Headings, paragraphs and lists filled to 80 columns; code and tables as they stand. Only the Markdown that the rule
/// pages use: `#` headings, `-` and `1.` lists, fences, pipe tables, `**strong**`, `[text](link)`.
std::string laid_out(std::string_view markdown, bool colour);

}  // namespace loomproof
