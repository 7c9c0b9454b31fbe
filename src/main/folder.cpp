// Every file is written to its last byte and synced before the folder gets its name.
#include "main/folder.h"

#include <dirent.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <climits>
#include <cstring>

#include <fmt/format.h>

#include "show/wash.h"

namespace loomproof {
namespace {

constexpr std::size_t most_files = 64;
constexpr std::size_t longest_name = 64;

// What a signal has to remove; plain memory, since a handler may touch nothing else.
struct Unfinished {
  std::array<char, PATH_MAX> folder{};
  std::array<std::array<char, PATH_MAX>, most_files> files{};
  volatile sig_atomic_t count = 0;
};
Unfinished unfinished;

constexpr std::array ending_signals{SIGINT, SIGTERM, SIGHUP, SIGXFSZ};

void remove_unfinished() {
  if (unfinished.folder[0] == '\0') return;
  for (sig_atomic_t i = 0; i < unfinished.count; ++i) ::unlink(unfinished.files[static_cast<std::size_t>(i)].data());
  ::rmdir(unfinished.folder.data());
  unfinished.folder[0] = '\0';
}

extern "C" void end_unfinished(int signal) {
  remove_unfinished();
  ::signal(signal, SIG_DFL);
  ::raise(signal);
}

void watch_signals() {
  struct sigaction action {};
  action.sa_handler = end_unfinished;
  sigemptyset(&action.sa_mask);
  for (int signal : ending_signals) {
    struct sigaction old {};
    if (::sigaction(signal, nullptr, &old) == 0 && old.sa_handler != SIG_IGN) ::sigaction(signal, &action, nullptr);
  }
}

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

std::string cannot_write(const std::string& path, int error) {
  return fmt::format("cannot write '{}': {}", washed(path), std::strerror(error));
}

bool write_file(const std::string& path, std::string_view text) {
  const int descriptor = ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0666);
  if (descriptor < 0) return false;
  bool done = true;
  while (done && !text.empty()) {
    const ssize_t n = ::write(descriptor, text.data(), text.size());
    if (n < 0 && errno == EINTR) continue;
    done = n >= 0;
    if (done) text.remove_prefix(static_cast<std::size_t>(n));
  }
  done = done && ::fsync(descriptor) == 0;
  const int error = errno;
  const bool closed = ::close(descriptor) == 0;
  if (!done) errno = error;
  return done && closed;
}

// Names in a folder, or nothing when it cannot be read.
std::optional<std::vector<std::string>> names_in(const std::string& folder) {
  DIR* open = ::opendir(folder.c_str());
  if (!open) return std::nullopt;
  std::vector<std::string> names;
  while (const dirent* entry = ::readdir(open)) {
    const std::string name = entry->d_name;
    if (name != "." && name != "..") names.push_back(name);
  }
  ::closedir(open);
  return names;
}

void remove_folder(const std::string& folder, const std::vector<PaperFile>& files) {
  for (const PaperFile& file : files) ::unlink((folder + "/" + file.name).c_str());
  ::rmdir(folder.c_str());
}

// Why an existing path may not be replaced.
std::optional<std::string> refuse(const std::string& path, const std::vector<PaperFile>& files, bool replace) {
  struct stat facts {};
  if (::lstat(path.c_str(), &facts) != 0)
    return errno == ENOENT ? std::nullopt : std::optional(cannot_write(path, errno));
  if (!replace) return fmt::format("'{}' exists; --replace writes the papers anew", washed(path));
  if (!S_ISDIR(facts.st_mode)) return fmt::format("cannot replace '{}': it is no folder", washed(path));
  const auto names = names_in(path);
  if (!names) return cannot_write(path, errno);
  for (const std::string& name : *names) {
    const bool ours = std::any_of(files.begin(), files.end(), [&](const PaperFile& f) { return f.name == name; });
    if (!ours) {
      return fmt::format("cannot replace '{}': it holds '{}', which is none of the papers", washed(path), washed(name));
    }
  }
  if (::access(path.c_str(), W_OK | X_OK) != 0) return cannot_write(path, errno);
  return std::nullopt;
}

}  // namespace

std::optional<std::string> write_folder(const std::string& given, const std::vector<PaperFile>& files, bool replace) {
  std::string path = given;
  while (path.size() > 1 && path.back() == '/') path.pop_back();
  if (const auto why = refuse(path, files, replace)) return why;
  std::string temporary = path + ".XXXXXX";
  if (temporary.size() + longest_name + 1 >= PATH_MAX || files.size() > most_files)
    return cannot_write(path, ENAMETOOLONG);
  watch_signals();
  {
    const SignalsHeld held;
    if (::mkdtemp(temporary.data()) == nullptr) return cannot_write(path, errno);
    unfinished.count = 0;
    for (const PaperFile& file : files) {
      const std::string name = temporary + "/" + file.name;
      std::memcpy(unfinished.files[static_cast<std::size_t>(unfinished.count)].data(), name.c_str(), name.size() + 1);
      unfinished.count = unfinished.count + 1;
    }
    std::memcpy(unfinished.folder.data(), temporary.c_str(), temporary.size() + 1);
  }
  int error = 0;
  for (const PaperFile& file : files) {
    if (!write_file(temporary + "/" + file.name, file.bytes)) {
      error = errno;
      break;
    }
  }
  const SignalsHeld held;
  const mode_t mask = ::umask(0);
  ::umask(mask);
  if (error == 0 && ::chmod(temporary.c_str(), 0777 & ~mask) != 0) error = errno;
  if (error == 0) {
    if (::renameat2(AT_FDCWD, temporary.c_str(), AT_FDCWD, path.c_str(), RENAME_NOREPLACE) == 0) {
      unfinished.folder[0] = '\0';
      return std::nullopt;
    }
    error = errno;
    // Both names change places in one step, so that there is no moment without papers; then the old ones go.
    if (replace && error == EEXIST) {
      error = ::renameat2(AT_FDCWD, temporary.c_str(), AT_FDCWD, path.c_str(), RENAME_EXCHANGE) == 0 ? 0 : errno;
    }
  }
  remove_folder(temporary, files);
  unfinished.folder[0] = '\0';
  if (error != 0) return cannot_write(path, error);
  return std::nullopt;
}

}  // namespace loomproof
