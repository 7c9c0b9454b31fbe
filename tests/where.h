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
