// Feeds `dot` through its standard input from an unnamed temporary file, so that neither side can wait for the other.
#include "main/graphviz.h"

#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>

#include <fmt/format.h>

#include "show/wash.h"

extern char** environ;

namespace loomproof {
namespace {

// A file in memory that closes itself.
class MemoryFile {
 public:
  explicit MemoryFile(const char* name) : descriptor_(::memfd_create(name, MFD_CLOEXEC)) {}
  ~MemoryFile() {
    if (descriptor_ >= 0) ::close(descriptor_);
  }
  MemoryFile(const MemoryFile&) = delete;
  MemoryFile& operator=(const MemoryFile&) = delete;

  int descriptor() const { return descriptor_; }

  bool fill(std::string_view text) const {
    while (!text.empty()) {
      const ssize_t n = ::write(descriptor_, text.data(), text.size());
      if (n < 0) return false;
      text.remove_prefix(static_cast<std::size_t>(n));
    }
    return ::lseek(descriptor_, 0, SEEK_SET) == 0;
  }

  std::string content() const {
    std::string out;
    std::array<char, 1 << 16> chunk{};
    ::lseek(descriptor_, 0, SEEK_SET);
    for (ssize_t n = 0; (n = ::read(descriptor_, chunk.data(), chunk.size())) > 0;) {
      out.append(chunk.data(), static_cast<std::size_t>(n));
    }
    return out;
  }

 private:
  int descriptor_;
};

// Starts `dot` with its three streams on the files given. @return its process, or a negative error number
pid_t start_dot(const std::string& format, const MemoryFile& in, const MemoryFile& out, const MemoryFile& err) {
  posix_spawn_file_actions_t streams;
  ::posix_spawn_file_actions_init(&streams);
  ::posix_spawn_file_actions_adddup2(&streams, in.descriptor(), STDIN_FILENO);
  ::posix_spawn_file_actions_adddup2(&streams, out.descriptor(), STDOUT_FILENO);
  ::posix_spawn_file_actions_adddup2(&streams, err.descriptor(), STDERR_FILENO);
  std::string program = "dot";
  std::string flag = "-T" + format;
  std::array<char*, 3> arguments{program.data(), flag.data(), nullptr};
  pid_t child = 0;
  const int failure = ::posix_spawnp(&child, "dot", &streams, nullptr, arguments.data(), environ);
  ::posix_spawn_file_actions_destroy(&streams);
  return failure == 0 ? child : -failure;
}

}  // namespace

Drawn run_dot(std::string_view dot, const std::string& format) {
  const MemoryFile in("loomproof-in");
  const MemoryFile out("loomproof-out");
  const MemoryFile err("loomproof-err");
  if (in.descriptor() < 0 || out.descriptor() < 0 || err.descriptor() < 0 || !in.fill(dot)) {
    return {std::nullopt, fmt::format("cannot hand the diagram to Graphviz: {}", std::strerror(errno))};
  }
  const pid_t child = start_dot(format, in, out, err);
  if (child == -ENOENT) {
    return {std::nullopt, "cannot find the program 'dot': install Graphviz, or write to a .dot file instead"};
  }
  if (child < 0) return {std::nullopt, fmt::format("cannot start 'dot': {}", std::strerror(-child))};
  int status = 0;
  while (::waitpid(child, &status, 0) < 0) {
    if (errno != EINTR) return {std::nullopt, fmt::format("lost sight of 'dot': {}", std::strerror(errno))};
  }
  std::string picture = out.content();
  if (!WIFEXITED(status) || WEXITSTATUS(status) != 0 || picture.empty()) {
    const std::string said = err.content();
    return {std::nullopt, fmt::format("'dot' drew nothing: {}", washed(said.substr(0, said.find('\n'))))};
  }
  return {std::move(picture), {}};
}

}  // namespace loomproof
