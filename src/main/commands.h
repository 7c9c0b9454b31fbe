// One function a command: it declares its options and, when the command is given, puts its exit code into `code`.
#pragma once

#include <CLI/CLI.hpp>

#include "main/exits.h"

namespace loomproof {

void add_check(CLI::App& app, Exit& code);
void add_compare(CLI::App& app, Exit& code);
void add_draw(CLI::App& app, Exit& code);
void add_papers(CLI::App& app, Exit& code);
void add_report(CLI::App& app, Exit& code);
void add_schema(CLI::App& app, Exit& code);
void add_size(CLI::App& app, Exit& code);
void add_start(CLI::App& app, Exit& code);
void add_why(CLI::App& app, Exit& code);

}  // namespace loomproof
