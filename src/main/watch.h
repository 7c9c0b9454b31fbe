// Waiting for somebody to save a file.
#pragma once

#include <string>
#include <vector>

namespace loomproof {

/// What tells two states of a file apart without reading it; equal for a file that is not there at both times.
struct FileState {
  long long changed_ns = -1;
  long long bytes = -1;
  unsigned long long inode = 0;
  bool operator==(const FileState&) const = default;
};

std::vector<FileState> states_of(const std::vector<std::string>& paths);

/// Returns once one of the files is not what it was, and has then stayed the same for a moment (editors write in
/// several steps). A file that is missing is waited for: some editors remove it and write another.
void wait_for_change(const std::vector<std::string>& paths, const std::vector<FileState>& before);

}  // namespace loomproof
