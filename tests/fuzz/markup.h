// A strict look at pages: what a browser would forgive is refused, so text that got in unescaped shows.
#pragma once

#include <string_view>

namespace loomproof::fuzz {

/// Ends the program unless: tags are balanced and of the names that our pages use, attributes quoted and of such names,
/// every & the start of an entity, links within the page only, no comment, and as many scripts as given, of which data
/// parse as JSON.
void check_html(std::string_view page, std::size_t scripts);

/// Ends the program unless: quotes are balanced, nothing but names and numbers stands outside them, no backslash and no
/// control character inside, no attribute that opens a file or a link, and `edges` edges.
void check_dot(std::string_view text, std::size_t edges);

}  // namespace loomproof::fuzz
