// Runs the built program as a user does, without a shell in between.
#pragma once

#include <fcntl.h>
#include <spawn.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "texts.h"

extern char** environ;

namespace program {

struct Ran {
  int code = -1;  // 128 + signal when a signal ended it
  std::string out, err;
};

inline std::string content_of(int descriptor) {
  std::string text;
  std::array<char, 4096> chunk{};
  ::lseek(descriptor, 0, SEEK_SET);
  for (ssize_t n = 0; (n = ::read(descriptor, chunk.data(), chunk.size())) > 0;) {
    text.append(chunk.data(), static_cast<std::size_t>(n));
  }
  return text;
}

struct Request {
  std::vector<std::string> arguments;
  std::string in = {};  // what stands on stdin
  int out = -1;         // where stdout goes instead of Ran::out
  std::vector<std::string> environment = {"PATH=/usr/bin:/bin"};
};

inline Ran run(Request request) {
  const int in = ::memfd_create("in", 0);
  const int out = ::memfd_create("out", 0);
  const int err = ::memfd_create("err", 0);
  REQUIRE(::write(in, request.in.data(), request.in.size()) == static_cast<ssize_t>(request.in.size()));
  ::lseek(in, 0, SEEK_SET);
  posix_spawn_file_actions_t streams;
  ::posix_spawn_file_actions_init(&streams);
  ::posix_spawn_file_actions_adddup2(&streams, in, STDIN_FILENO);
  ::posix_spawn_file_actions_adddup2(&streams, request.out >= 0 ? request.out : out, STDOUT_FILENO);
  ::posix_spawn_file_actions_adddup2(&streams, err, STDERR_FILENO);
  std::string name = "loomproof";
  std::vector<char*> arguments{name.data()};
  for (std::string& argument : request.arguments) arguments.push_back(argument.data());
  arguments.push_back(nullptr);
  std::vector<char*> environment;
  for (std::string& entry : request.environment) environment.push_back(entry.data());
  environment.push_back(nullptr);
  pid_t child = 0;
  const int failure = ::posix_spawn(&child, LOOMPROOF_BINARY, &streams, nullptr, arguments.data(), environment.data());
  ::posix_spawn_file_actions_destroy(&streams);
  REQUIRE(failure == 0);
  int status = 0;
  REQUIRE(::waitpid(child, &status, 0) == child);
  Ran ran{WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status), content_of(out), content_of(err)};
  for (const int descriptor : {in, out, err}) ::close(descriptor);
  return ran;
}

inline Ran run(std::vector<std::string> arguments) {
  return run(Request{.arguments = std::move(arguments)});
}

/// A folder of its own that goes with the test.
class Folder {
 public:
  Folder() {
    std::string name = (std::filesystem::temp_directory_path() / "loomproof-test.XXXXXX").string();
    REQUIRE(::mkdtemp(name.data()) != nullptr);
    path_ = name;
  }
  ~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;

  std::string at(const std::string& name) const { return (path_ / name).string(); }
  std::string write(const std::string& name, const std::string& text) const {
    std::ofstream(at(name), std::ios::binary) << text;
    return at(name);
  }
  std::size_t count() const {
    return static_cast<std::size_t>(std::distance(std::filesystem::directory_iterator(path_), {}));
  }

 private:
  std::filesystem::path path_;
};

using texts::has;

inline const std::string cart = SOURCE_ROOT + "/netlists/orchard-cart.yaml";

}  // namespace program
