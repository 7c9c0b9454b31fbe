// `check`: all obligations of each file, as text, JSON or SARIF.
#include <unistd.h>

#include <algorithm>
#include <deque>
#include <memory>

#include <fmt/format.h>

#include "main/commands.h"
#include "main/input.h"
#include "main/output.h"
#include "main/time_limit.h"
#include "main/watch.h"
#include "rules/ledger.h"
#include "show/show.h"
#include "show/wash.h"
#include "solve/fault_dictionary.h"
#include "solve/solved.h"

namespace loomproof {
namespace {

struct CheckOptions {
  std::vector<std::string> files;
  std::string format = "text";
  std::size_t closest = 5;
  bool faults = false;
  bool watch = false;
};

struct Checked {
  Loaded loaded;
  std::optional<Judgement> judgement;
  std::optional<FaultDictionary> dictionary;
  Exit code = Exit::unusable;
};

Exit code_of(const Judgement& judgement) {
  if (judgement.count(Verdict::broken) > 0) return Exit::broken;
  return judgement.count(Verdict::undecided) > 0 ? Exit::undecided : Exit::holds;
}

Checked check_one(const std::string& path, bool faults) {
  Checked checked;
  checked.loaded = load_or_tell(path);
  if (!checked.loaded.result.loom) return checked;
  const std::string name = washed(checked.loaded.name);
  try {
    const Solved solved = solve(*checked.loaded.result.loom);
    checked.judgement = judge(solved);
    if (faults) checked.dictionary = fault_dictionary(solved);
  } catch (const std::exception& failure) {
    tell(fmt::format("{}: the check did not finish: {}", name, failure.what()));
    checked.loaded.result.faults.push_back({Place{}, fmt::format("the check did not finish: {}", failure.what()), {}});
    checked.code = Exit::outside;
    return checked;
  }
  if (checked.judgement->obligations.empty()) {
    // No obligation is no proof: a file in which no rule finds a subject was not checked.
    tell(fmt::format("{}: nothing in it concerns any rule, so nothing was checked", name));
    return checked;
  }
  checked.code = code_of(*checked.judgement);
  return checked;
}

std::string document_of(const std::deque<Checked>& all, const std::string& format) {
  std::vector<FileAnswer> answers;
  for (const Checked& checked : all) {
    const ReadResult& result = checked.loaded.result;
    answers.push_back({checked.loaded.name, result.loom ? &*result.loom : nullptr,
                       checked.judgement ? &*checked.judgement : nullptr, &result.faults,
                       checked.dictionary ? &*checked.dictionary : nullptr});
  }
  return format == "json" ? json_of(answers) : sarif_of(answers);
}

Exit check(const CheckOptions& options) {
  const bool as_text = options.format == "text";
  const TextStyle style{.colour = wants_colour(STDOUT_FILENO), .closest = options.closest};
  std::deque<Checked> all;
  Exit code = Exit::holds;
  bool is_first = true;
  for (const std::string& file : options.files) {
    Checked checked = check_one(file, options.faults && options.format == "json");
    code = worst(code, checked.code);
    if (as_text && checked.judgement) {
      const std::string text = text_of(*checked.loaded.result.loom, *checked.judgement, style);
      if (!write_stdout(is_first ? text : "\n" + text)) return Exit::outside;
      is_first = false;
    }
    if (!as_text) all.push_back(std::move(checked));
  }
  if (!as_text && !write_stdout(document_of(all, options.format))) return Exit::outside;
  return code;
}

// Until a signal ends it. An answer belongs to the file as it was before it was read: a save while the check runs is
// seen as a change.
Exit check_again_and_again(const CheckOptions& options) {
  if (options.format != "text" || std::count(options.files.begin(), options.files.end(), "-") > 0) {
    tell("--watch takes files that can change, not stdin, and answers in text");
    return Exit::unusable;
  }
  while (true) {
    const std::vector<FileState> before = states_of(options.files);
    const Exit code = check(options);
    if (code == Exit::outside) return code;
    if (!write_stdout("\nwaiting for a change; end with Ctrl-C\n\n")) return Exit::outside;
    wait_for_change(options.files, before);
  }
}

}  // namespace

void add_check(CLI::App& app, Exit& code) {
  const auto options = std::make_shared<CheckOptions>();
  CLI::App* command = app.add_subcommand("check", "Check every obligation of each FILE");
  command->add_option("FILE", options->files, "Loom files; - is stdin")->required();
  command->add_option("--format", options->format, "text, json or sarif")
      ->check(CLI::IsMember({"text", "json", "sarif"}))
      ->capture_default_str();
  command
      ->add_option("--closest", options->closest, "How many of those that hold to list, nearest to their limit first")
      ->check(CLI::Range(0, 100000))
      ->capture_default_str();
  command->add_flag("--faults", options->faults,
                    "With json: what each single fault shows, for whoever has to find one");
  command->add_flag("--watch", options->watch, "Check again whenever a FILE is saved");
  add_time_limit(*command);
  command->callback([options, &code] { code = options->watch ? check_again_and_again(*options) : check(*options); });
}

}  // namespace loomproof
