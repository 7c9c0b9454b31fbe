// Every write is checked to its last byte.
#include "main/output.h"

#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <climits>
#include <cstring>

#include <fmt/format.h>

#include "show/wash.h"

namespace loomproof {
namespace {

bool write_all(int descriptor, std::string_view text) {
  while (!text.empty()) {
    const ssize_t n = ::write(descriptor, text.data(), text.size());
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) return false;
    text.remove_prefix(static_cast<std::size_t>(n));
  }
  return true;
}

// The temporary file that a signal has to remove; plain memory, since a handler may touch nothing else.
std::array<char, PATH_MAX> unfinished{};
constexpr std::array ending_signals{SIGINT, SIGTERM, SIGHUP};

extern "C" void remove_unfinished(int signal) {
  if (unfinished[0] != '\0') ::unlink(unfinished.data());
  ::signal(signal, SIG_DFL);
  ::raise(signal);
}

void watch_signals() {
  struct sigaction action {};
  action.sa_handler = remove_unfinished;
  sigemptyset(&action.sa_mask);
  for (int signal : ending_signals) {
    struct sigaction old {};
    // A signal that was ignored from outside (nohup) stays ignored.
    if (::sigaction(signal, nullptr, &old) == 0 && old.sa_handler != SIG_IGN) ::sigaction(signal, &action, nullptr);
  }
}

// Holds the ending signals back while a file exists that `unfinished` does not name yet, or no longer.
class SignalsHeld {
 public:
  SignalsHeld() {
    sigset_t held;
    sigemptyset(&held);
    for (int signal : ending_signals) sigaddset(&held, signal);
    ::sigprocmask(SIG_BLOCK, &held, &before_);
  }
  ~SignalsHeld() { ::sigprocmask(SIG_SETMASK, &before_, nullptr); }
  SignalsHeld(const SignalsHeld&) = delete;
  SignalsHeld& operator=(const SignalsHeld&) = delete;

 private:
  sigset_t before_{};
};

// Where the bytes go in the end: a symbolic link is followed, so that the link stays one.
std::string target_of(const std::string& path) {
  char* resolved = ::realpath(path.c_str(), nullptr);
  if (!resolved) return path;
  std::string target = resolved;
  ::free(resolved);
  return target;
}

std::string cannot_write(const std::string& path, int error) {
  return fmt::format("cannot write '{}': {}", washed(path), std::strerror(error));
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
  if (temporary.size() >= unfinished.size()) return cannot_write(path, ENAMETOOLONG);
  watch_signals();
  int descriptor = -1;
  {
    const SignalsHeld held;
    descriptor = ::mkstemp(temporary.data());
    if (descriptor < 0) return cannot_write(path, errno);
    std::memcpy(unfinished.data(), temporary.c_str(), temporary.size() + 1);
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
  unfinished[0] = '\0';
  if (!done) return cannot_write(path, error);
  return std::nullopt;
}

}  // namespace loomproof
