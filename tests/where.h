// Where the tests' data lies. Functions, not string macros: the compiler's input is then the same in every clone, and a
// compiler cache serves them all.
#pragma once

#include <string>

namespace loomproof::test {

std::string tests_dir();
std::string source_root();

}  // namespace loomproof::test

#define TESTS_DIR ::loomproof::test::tests_dir()
#define SOURCE_ROOT ::loomproof::test::source_root()

/// Of a long list of like cases: every n-th under sanitizers, which cost several times as much, and all of them
/// otherwise.
constexpr unsigned every(unsigned n) {
#if defined(__SANITIZE_ADDRESS__)
  return n;
#else
  static_cast<void>(n);
  return 1;
#endif
}
