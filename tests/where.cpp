#include "where.h"

namespace loomproof::test {

std::string tests_dir() { return LOOMPROOF_TESTS_DIR; }
std::string source_root() { return LOOMPROOF_SOURCE_ROOT; }

}  // namespace loomproof::test
