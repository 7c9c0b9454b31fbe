// Without a fuzzer: every target on every file of what fuzzing has found, and on every n-th of the seed corpus; and a
// short blind run, in which each of the corpus is spoilt in a few places, the same ones every time.
#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <random>
#include <string>
#include <vector>

#include "../where.h"
#include "targets.h"

namespace {

namespace fs = std::filesystem;

std::string bytes_of(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

std::vector<fs::path> files_in(const fs::path& folder, const std::string& ending) {
  std::vector<fs::path> files;
  for (const auto& entry : fs::recursive_directory_iterator(folder)) {
    if (entry.is_regular_file() && entry.path().string().ends_with(ending)) files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  return files;
}

void run(const fs::path& path, bool whole) {
  const std::string bytes = bytes_of(path);
  std::fprintf(stderr, "%s\n", path.c_str());  // the last line names the file that ended the program
  loomproof::fuzz::reader(bytes);
  loomproof::fuzz::units(bytes);
  if (!whole) return;
  loomproof::fuzz::check(bytes);
  loomproof::fuzz::output(bytes);
}

// One to four edits: a byte changed, a stretch left out or written twice.
std::string spoilt(std::string bytes, std::mt19937& dice) {
  for (unsigned edits = 1 + dice() % 4; edits > 0 && !bytes.empty(); --edits) {
    const std::size_t at = dice() % bytes.size();
    const std::size_t length = 1 + dice() % 12;
    switch (dice() % 3) {
      case 0:
        bytes[at] = static_cast<char>(dice() % 256);
        break;
      case 1:
        bytes.erase(at, length);
        break;
      default:
        bytes.insert(at, bytes.substr(dice() % bytes.size(), length));
    }
  }
  return bytes;
}

// Returns how many inputs it tried.
std::size_t run_spoilt(const std::vector<fs::path>& files, std::size_t step) {
  std::size_t tried = 0;
  for (std::size_t i = 0; i < files.size(); i += step) {
    std::mt19937 dice(static_cast<unsigned>(i));
    const std::string bytes = bytes_of(files[i]);
    std::fprintf(stderr, "%s, spoilt\n", files[i].c_str());
    for (int k = 0; k < 4; ++k, ++tried) {
      const std::string other = spoilt(bytes, dice);
      loomproof::fuzz::reader(other);
      loomproof::fuzz::units(other.substr(0, 40));
      if (k == 0 && i % (8 * step) == 0) loomproof::fuzz::check(other);
    }
  }
  return tried;
}

}  // namespace

/// Argument: the root of the sources.
int main(int count, char** arguments) {
  if (count != 2) return 2;
  const fs::path root = arguments[1];
  const fs::path tests = root / "tests";
  const std::vector<fs::path> found = files_in(tests / "fuzz" / "found", "");
  for (const fs::path& path : found) run(path, true);
  const std::vector<fs::path> demos = files_in(root / "netlists", ".yaml");
  for (const fs::path& path : demos) run(path, false);
  const std::vector<fs::path> designs = files_in(tests / "rules", ".yaml");
  const std::size_t step = every(6) * 8;  // a few seconds, with sanitizers too
  for (std::size_t i = 0; i < designs.size(); ++i) run(designs[i], i % step == 0);
  const std::size_t spoilt = run_spoilt(designs, every(4));
  std::printf("%zu files that fuzzing found, %zu demos, %zu designs and %zu spoilt: no promise broken\n", found.size(),
              demos.size(), designs.size(), spoilt);
  return found.empty() || demos.size() < 20 || designs.size() < 100;
}
