// Files as text, bounded, with one clear sentence for each way in which reading can fail.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "read/read.h"

namespace loomproof {

struct FileText {
  std::string name;                 // as messages show it: the path, or "stdin" for "-"
  std::optional<std::string> text;  // none: see `error`
  std::string error;                // whole sentence, without the name of the program
};

/// Reads a path, or stdin for "-"; at most as many bytes as the reader takes.
FileText read_input(const std::string& path);

/// Reads and parses. A file that cannot be read at all has one fault without a place.
struct Loaded {
  std::string name;
  std::string text;  // the file's bytes, as far as it could be read
  ReadResult result;
  bool opened = false;  // false: the fault is about the file itself, not about its text
};
Loaded load(const std::string& path);

/// load(), with every fault told on stderr.
Loaded load_or_tell(const std::string& path);

}  // namespace loomproof
