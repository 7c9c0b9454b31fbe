// `compare`: what changed electrically between two revisions, and what the bench does again.
#include "show/compare.h"

#include <memory>

#include <fmt/format.h>

#include "main/commands.h"
#include "main/input.h"
#include "main/output.h"
#include "main/time_limit.h"
#include "show/wash.h"

namespace loomproof {
namespace {

struct CompareOptions {
  std::string before, after;
  std::string format = "text";
};

struct Known {
  Loaded loaded;
  std::optional<Solved> solved;
  std::optional<Judgement> judgement;
};

// Nothing judged is nothing compared: a file in which no rule finds a subject says nothing about worse or better.
bool know(const std::string& path, Known& known) {
  known.loaded = load_or_tell(path);
  if (!known.loaded.result.loom) return false;
  known.solved = solve(*known.loaded.result.loom);
  known.judgement = judge(*known.solved);
  if (!known.judgement->obligations.empty()) return true;
  tell(fmt::format("{}: nothing in it concerns any rule, so nothing was compared", washed(known.loaded.name)));
  return false;
}

Exit compare_files(const CompareOptions& options) {
  if (options.before == "-" && options.after == "-") {
    tell("only one of the two files can be stdin");
    return Exit::unusable;
  }
  Known before, after;
  const bool first = know(options.before, before), second = know(options.after, after);
  if (!first || !second) return Exit::unusable;
  const Comparison found = compare({&*before.solved, &*before.judgement}, {&*after.solved, &*after.judgement});
  if (!write_stdout(options.format == "json" ? compare_json(found) : compare_text(found))) return Exit::outside;
  switch (found.worst()) {
    case Verdict::broken:
      return Exit::broken;
    case Verdict::undecided:
      return Exit::undecided;
    case Verdict::holds:
      break;
  }
  return Exit::holds;
}

}  // namespace

void add_compare(CLI::App& app, Exit& code) {
  const auto options = std::make_shared<CompareOptions>();
  CLI::App* command = app.add_subcommand(
      "compare",
      "What changed electrically from OLD to NEW, and what to cut and test again. Exit code: 1 when something is newly "
      "broken, 3 when something is newly undecided, 0 when nothing became worse");
  command->add_option("OLD", options->before, "The revision before; - is stdin")->required();
  command->add_option("NEW", options->after, "The revision after")->required();
  command->add_option("--format", options->format, "text or json")
      ->check(CLI::IsMember({"text", "json"}))
      ->capture_default_str();
  add_time_limit(*command);
  command->callback([options, &code] { code = compare_files(*options); });
}

}  // namespace loomproof
