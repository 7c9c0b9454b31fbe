// Files that are not whole yet: written to the last byte, and removed by a signal that ends the program.
#pragma once

#include <signal.h>

#include <string>
#include <string_view>
#include <vector>

namespace loomproof {

/// Writes all of it, however many calls that takes.
/// @return false with errno set
bool write_all(int descriptor, std::string_view text);

/// "cannot write 'papers': No space left on device"
std::string cannot_write(const std::string& path, int error);

/// Holds the ending signals back while something exists that name_unfinished() has not named yet, or that is no longer
/// to be removed.
class SignalsHeld {
 public:
  SignalsHeld();
  ~SignalsHeld();
  SignalsHeld(const SignalsHeld&) = delete;
  SignalsHeld& operator=(const SignalsHeld&) = delete;

 private:
  sigset_t before_{};
};

/// From now on an ending signal removes what name_unfinished() names. One that was ignored from outside (nohup) stays
/// ignored.
void watch_signals();

/// Whether so many files with paths of at most that length can be named.
bool can_name_unfinished(std::size_t files, std::size_t longest_path);

/// @param folder  removed after the files; empty for none
void name_unfinished(const std::vector<std::string>& files, const std::string& folder);

/// It is whole, or gone.
void forget_unfinished();

}  // namespace loomproof
