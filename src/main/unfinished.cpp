// What an ending signal has to remove lies in plain memory, since a handler may touch nothing else.
#include "main/unfinished.h"

#include <unistd.h>

#include <array>
#include <cerrno>
#include <climits>
#include <cstring>

#include <fmt/format.h>

#include "show/wash.h"

namespace loomproof {
namespace {

using PathBytes = std::array<char, PATH_MAX>;

struct Unfinished {
  std::array<PathBytes, 64> files{};
  volatile sig_atomic_t count = 0;
  PathBytes folder{};
};
Unfinished unfinished;

constexpr std::array ending_signals{SIGINT, SIGTERM, SIGHUP, SIGXFSZ};

extern "C" void remove_unfinished(int signal) {
  for (sig_atomic_t i = 0; i < unfinished.count; ++i) ::unlink(unfinished.files[static_cast<std::size_t>(i)].data());
  if (unfinished.folder[0] != '\0') ::rmdir(unfinished.folder.data());
  ::signal(signal, SIG_DFL);
  ::raise(signal);
}

void copy(const std::string& path, PathBytes& out) {
  std::memcpy(out.data(), path.c_str(), path.size() + 1);
}

}  // namespace

bool write_all(int descriptor, std::string_view text) {
  while (!text.empty()) {
    const ssize_t n = ::write(descriptor, text.data(), text.size());
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) return false;
    text.remove_prefix(static_cast<std::size_t>(n));
  }
  return true;
}

std::string cannot_write(const std::string& path, int error) {
  return fmt::format("cannot write '{}': {}", washed(path), std::strerror(error));
}

SignalsHeld::SignalsHeld() {
  sigset_t held;
  sigemptyset(&held);
  for (int signal : ending_signals) sigaddset(&held, signal);
  ::sigprocmask(SIG_BLOCK, &held, &before_);
}

SignalsHeld::~SignalsHeld() {
  ::sigprocmask(SIG_SETMASK, &before_, nullptr);
}

void watch_signals() {
  struct sigaction action {};
  action.sa_handler = remove_unfinished;
  sigemptyset(&action.sa_mask);
  for (int signal : ending_signals) {
    struct sigaction old {};
    if (::sigaction(signal, nullptr, &old) == 0 && old.sa_handler != SIG_IGN) ::sigaction(signal, &action, nullptr);
  }
}

bool can_name_unfinished(std::size_t files, std::size_t longest_path) {
  return files <= unfinished.files.size() && longest_path < unfinished.folder.size();
}

void name_unfinished(const std::vector<std::string>& files, const std::string& folder) {
  forget_unfinished();
  for (const std::string& file : files) {
    copy(file, unfinished.files[static_cast<std::size_t>(unfinished.count)]);
    unfinished.count = unfinished.count + 1;
  }
  copy(folder, unfinished.folder);
}

void forget_unfinished() {
  unfinished.count = 0;
  unfinished.folder[0] = '\0';
}

}  // namespace loomproof
