// Bytes come in through plain descriptors: no partial read goes unseen.
#include "main/input.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>

#include <fmt/format.h>

#include "main/output.h"
#include "show/show.h"
#include "show/wash.h"

namespace loomproof {
namespace {

FileText failed(std::string name, std::string_view why) {
  std::string error = fmt::format("cannot read '{}': {}", washed(name), why);
  return {std::move(name), std::nullopt, std::move(error)};
}

FileText read_from(int descriptor, std::string name) {
  constexpr std::size_t most = ReadBounds{}.bytes;
  std::string text;
  std::array<char, 1 << 16> chunk{};
  for (;;) {
    const ssize_t n = ::read(descriptor, chunk.data(), chunk.size());
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) return failed(std::move(name), std::strerror(errno));
    if (n == 0) break;
    text.append(chunk.data(), static_cast<std::size_t>(n));
    if (text.size() > most) return failed(std::move(name), fmt::format("it is larger than {} MiB", most >> 20));
  }
  if (text.empty()) return failed(std::move(name), "it is empty");
  return {std::move(name), std::move(text), {}};
}

}  // namespace

FileText read_input(const std::string& path) {
  if (path == "-") return read_from(STDIN_FILENO, "stdin");
  const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOCTTY);
  if (descriptor < 0) return failed(path, std::strerror(errno));
  struct stat facts {};
  const bool is_folder = ::fstat(descriptor, &facts) == 0 && S_ISDIR(facts.st_mode);
  FileText input = is_folder ? failed(path, "it is a directory, and a file is expected") : read_from(descriptor, path);
  ::close(descriptor);
  return input;
}

Loaded load(const std::string& path) {
  FileText input = read_input(path);
  Loaded loaded;
  loaded.name = input.name;
  loaded.opened = input.text.has_value();
  if (loaded.opened) {
    loaded.result = read_loom(*input.text, input.name);
    loaded.text = std::move(*input.text);
  } else {
    loaded.result.faults.push_back({Place{}, std::move(input.error), {}});
  }
  return loaded;
}

Loaded load_or_tell(const std::string& path) {
  Loaded loaded = load(path);
  const ReadResult& result = loaded.result;
  if (!loaded.opened) {
    tell(result.faults.front().what);
  } else if (!result.loom) {
    write_stderr(text_of_faults(loaded.name, result.faults, result.lines, {.colour = wants_colour(STDERR_FILENO)}));
  }
  return loaded;
}

}  // namespace loomproof
