// Every write is checked to its last byte.
#include "main/output.h"

#include <fcntl.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include <fmt/format.h>

#include "main/unfinished.h"
#include "show/wash.h"

namespace loomproof {
namespace {

// Where the bytes go in the end: a symbolic link is followed, so that the link stays one.
std::string target_of(const std::string& path) {
  char* resolved = ::realpath(path.c_str(), nullptr);
  if (!resolved) return path;
  std::string target = resolved;
  ::free(resolved);
  return target;
}

mode_t mode_for(const std::string& target) {
  struct stat facts {};
  if (::stat(target.c_str(), &facts) == 0) return facts.st_mode & 0777;
  const mode_t mask = ::umask(0);
  ::umask(mask);
  return 0666 & ~mask;
}

}  // namespace

bool write_stdout(std::string_view text) {
  if (write_all(STDOUT_FILENO, text)) return true;
  if (errno != EPIPE) tell(fmt::format("cannot write to stdout: {}", std::strerror(errno)));
  return false;
}

void write_stderr(std::string_view text) {
  // Nowhere is left to report a failure to.
  static_cast<void>(write_all(STDERR_FILENO, text));
}

void tell(std::string_view text) {
  write_stderr(fmt::format("loomproof: {}\n", text));
}

bool wants_colour(int descriptor) {
  const char* no_colour = ::getenv("NO_COLOR");
  const char* terminal = ::getenv("TERM");
  if (no_colour && *no_colour != '\0') return false;
  if (terminal && std::string_view(terminal) == "dumb") return false;
  return ::isatty(descriptor) == 1;
}

std::optional<std::string> write_whole(const std::string& path, std::string_view content) {
  const std::string target = target_of(path);
  struct stat facts {};
  if (::stat(target.c_str(), &facts) == 0) {
    if (S_ISDIR(facts.st_mode)) return cannot_write(path, EISDIR);
    if (!S_ISREG(facts.st_mode)) return fmt::format("cannot write '{}': it is no plain file", washed(path));
    // A rename would get past the write protection of the file itself.
    if (::access(target.c_str(), W_OK) != 0) return cannot_write(path, errno);
  }
  std::string temporary = target + ".XXXXXX";
  if (!can_name_unfinished(1, temporary.size())) return cannot_write(path, ENAMETOOLONG);
  watch_signals();
  int descriptor = -1;
  {
    const SignalsHeld held;
    descriptor = ::mkstemp(temporary.data());
    if (descriptor < 0) return cannot_write(path, errno);
    name_unfinished({temporary}, "");
  }
  bool done = write_all(descriptor, content) && ::fchmod(descriptor, mode_for(target)) == 0 && ::fsync(descriptor) == 0;
  int error = done ? 0 : errno;
  if (::close(descriptor) != 0 && done) {
    done = false;
    error = errno;
  }
  const SignalsHeld held;
  if (done && ::rename(temporary.c_str(), target.c_str()) != 0) {
    done = false;
    error = errno;
  }
  if (!done) ::unlink(temporary.c_str());
  forget_unfinished();
  if (!done) return cannot_write(path, error);
  return std::nullopt;
}

}  // namespace loomproof
