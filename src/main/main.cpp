// The command line: finds the command, runs it, and hands its exit code on.
#include <signal.h>

#include <exception>
#include <iostream>

#include <fmt/format.h>

#include "main/commands.h"
#include "main/output.h"
#include "model/large_pages.h"
#include "read/nearest.h"
#include "show/wash.h"

namespace loomproof {
namespace {

// A misspelt command, before the parser takes it for a stray argument.
bool tell_unknown_command(const CLI::App& app, std::string_view given) {
  if (given.starts_with('-')) return false;
  std::vector<std::string> names;
  for (const CLI::App* command : app.get_subcommands([](const CLI::App*) { return true; })) {
    names.push_back(command->get_name());
    if (names.back() == given) return false;
  }
  const std::vector<std::string_view> known(names.begin(), names.end());
  const std::optional<std::string_view> near = find_nearest(given, known);
  tell(fmt::format("there is no command '{}'{}", washed(given),
                   near ? fmt::format("; did you mean '{}'?", *near) : "; `loomproof --help` lists all commands"));
  return true;
}

Exit run(int argc, char** argv) {
  CLI::App app{"Proves the wiring of a vehicle before the first crimp.", "loomproof"};
  app.footer(
      "Exit code: 0 all hold; 1 something is broken; 2 the input cannot be used; 3 nothing is broken but something is\n"
      "undecided; 4 an outside failure. Of several files the gravest counts: 4, 2, 1, 3, 0.");
  app.set_version_flag("--version", "loomproof " LOOMPROOF_VERSION);
  app.require_subcommand(1);
  Exit code = Exit::holds;
  add_check(app, code);
  add_compare(app, code);
  add_draw(app, code);
  add_papers(app, code);
  add_report(app, code);
  add_schema(app, code);
  add_size(app, code);
  add_start(app, code);
  add_why(app, code);
  if (argc > 1 && tell_unknown_command(app, argv[1])) return Exit::unusable;
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& stop) {
    if (stop.get_exit_code() != 0) {
      tell(washed(stop.what()));
      return Exit::unusable;
    }
    app.exit(stop);  // --help, --version
    std::cout.flush();
    return std::cout.good() ? Exit::holds : Exit::outside;
  }
  return code;
}

}  // namespace
}  // namespace loomproof

int main(int argc, char** argv) {
  loomproof::take_large_pages();
  // A reader that goes away is seen as a failed write.
  ::signal(SIGPIPE, SIG_IGN);
  try {
    return static_cast<int>(loomproof::run(argc, argv));
  } catch (const std::exception& failure) {
    loomproof::tell(failure.what());
  }
  return static_cast<int>(loomproof::Exit::outside);
}
