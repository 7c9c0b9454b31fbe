// The input format as a page to read, made from the reader's keys and the catalogue.
#pragma once

#include <string>

namespace loomproof {

/// Markdown: the sections with their keys, and every kind of part with its terminals and attributes.
/// @throws std::logic_error when a key of the reader has no words here, or the other way round
std::string format_page();

}  // namespace loomproof
