// `--time-limit`, for every command that may have much to compute.
#pragma once

#include <CLI/CLI.hpp>

namespace loomproof {

/// The option, as text such as `10 s`. The clock starts when the command line has been read; when it runs out, the
/// command ends with exit code 4, having written no file.
void add_time_limit(CLI::App& command);

}  // namespace loomproof
