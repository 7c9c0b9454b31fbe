// Every file is written to its last byte and synced before the folder gets its name.
#include "main/folder.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>

#include <fmt/format.h>

#include "main/unfinished.h"
#include "show/wash.h"

namespace loomproof {
namespace {

constexpr std::size_t longest_name = 64;

bool write_file(const std::string& path, std::string_view text) {
  const int descriptor = ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0666);
  if (descriptor < 0) return false;
  const bool done = write_all(descriptor, text) && ::fsync(descriptor) == 0;
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
std::optional<std::string> refuse_folder(const std::string& path, const std::vector<PaperFile>& files, bool replace) {
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
  if (const auto why = refuse_folder(path, files, replace)) return why;
  std::string temporary = path + ".XXXXXX";
  if (!can_name_unfinished(files.size(), temporary.size() + longest_name + 1)) return cannot_write(path, ENAMETOOLONG);
  watch_signals();
  {
    const SignalsHeld held;
    if (::mkdtemp(temporary.data()) == nullptr) return cannot_write(path, errno);
    std::vector<std::string> names;
    for (const PaperFile& file : files) names.push_back(temporary + "/" + file.name);
    name_unfinished(names, temporary);
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
      forget_unfinished();
      return std::nullopt;
    }
    error = errno;
    // Both names change places in one step, so that there is no moment without papers; then the old ones go.
    if (replace && error == EEXIST) {
      error = ::renameat2(AT_FDCWD, temporary.c_str(), AT_FDCWD, path.c_str(), RENAME_EXCHANGE) == 0 ? 0 : errno;
    }
  }
  remove_folder(temporary, files);
  forget_unfinished();
  if (error != 0) return cannot_write(path, error);
  return std::nullopt;
}

}  // namespace loomproof
