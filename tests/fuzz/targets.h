// What the fuzzers feed and the replay runs: each takes any bytes and ends the program when a promise does not hold.
#pragma once

#include <string_view>

namespace loomproof::fuzz {

/// The reader: a loom or faults, each fault one harmless line with a place inside the text; the same text, the same
/// answer; kinds alike.
void reader(std::string_view bytes);

/// Quantities: the first byte picks the dimension, the rest is the text. What parses is finite, its own text parses to
/// the same value, and so does the value written in full; what show() prints parses, and prints as the same text.
void units(std::string_view bytes);

/// The whole check within a bound of wires and of time: every obligation decided, the figures of what is broken finite,
/// text without a byte that could command a terminal, JSON and SARIF that parse.
void check(std::string_view bytes);

/// Drawing, report and papers: no text of the file becomes DOT, HTML, script or a new line of CSV.
void output(std::string_view bytes);

/// Prints the promise that does not hold, with what shows it, and ends the program by abort().
[[noreturn]] void fail(std::string_view promise, std::string_view shown = {});

inline void promise(bool holds, std::string_view what, std::string_view shown = {}) {
  if (!holds) fail(what, shown);
}

/// Whether `text` is whole UTF-8 without control characters; newlines are allowed where `lines` is set.
bool is_harmless(std::string_view text, bool lines = false);

}  // namespace loomproof::fuzz
