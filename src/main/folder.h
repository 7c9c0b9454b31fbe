// A folder of files, whole or not at all.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "show/paper.h"

namespace loomproof {

/// Writes all files into a temporary folder beside `path` and renames that: `path` is the whole new folder or what it
/// was before. Without `replace` an existing path is an error; with it, a folder is replaced that holds nothing but
/// files with the names of `files` (it is ours to replace then). A signal that ends the program removes the temporary
/// folder.
/// @return what went wrong, as a sentence
std::optional<std::string> write_folder(const std::string& path, const std::vector<PaperFile>& files, bool replace);

}  // namespace loomproof
