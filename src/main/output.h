// What the program writes: streams without surprises, files whole or not at all.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace loomproof {

/// @return false when stdout does not take it all; the reason was told on stderr, except for a reader that went away
bool write_stdout(std::string_view text);

/// Errors about running.
void write_stderr(std::string_view text);

/// `loomproof: text` on stderr.
void tell(std::string_view text);

/// A terminal, and neither NO_COLOR nor TERM=dumb.
bool wants_colour(int descriptor);

/// Writes into a temporary file of the same folder and renames it: the path holds the old content or the whole new
/// one, never a part. A signal that ends the program removes the temporary file.
/// @return what went wrong, as a sentence
std::optional<std::string> write_whole(const std::string& path, std::string_view content);

}  // namespace loomproof
