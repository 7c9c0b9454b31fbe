// `papers`: what the bench needs, into a folder: CSV and a printable page each.
#include <memory>

#include <fmt/format.h>

#include "main/commands.h"
#include "main/folder.h"
#include "main/input.h"
#include "main/output.h"
#include "main/time_limit.h"
#include "rules/ledger.h"
#include "show/file_mark.h"
#include "show/paper.h"
#include "show/wash.h"
#include "units/parse.h"

namespace loomproof {
namespace {

struct PapersOptions {
  std::string file;
  std::string out;
  std::string slack;
  bool replace = false;
};

std::optional<Slack> slack_of(const std::string& text) {
  Slack slack;
  slack.said = text;
  if (text.empty()) return slack;
  if (const auto length = parse_magnitude(text, Dimension::length)) {
    slack.each = Metre(length.value->value);
    return slack;
  }
  if (text.find('%') != std::string::npos) {
    const auto share = parse_magnitude(text, Dimension::ratio);
    if (share && share.value->value >= 0) {
      slack.share = share.value->value;
      return slack;
    }
  }
  tell(fmt::format("--slack '{}': expected a length such as 50 mm or a share such as 5 %", washed(text)));
  return std::nullopt;
}

Exit write_papers(const PapersOptions& options) {
  const std::optional<Slack> slack = slack_of(options.slack);
  if (!slack) return Exit::unusable;
  const Loaded loaded = load_or_tell(options.file);
  if (!loaded.result.loom) return Exit::unusable;
  const Solved solved = solve(*loaded.result.loom);
  const std::vector<PaperFile> files = papers_of(solved, judge(solved), *slack, file_mark(loaded.text));
  if (const std::optional<std::string> error = write_folder(options.out, files, options.replace)) {
    tell(*error);
    return Exit::outside;
  }
  return Exit::holds;
}

}  // namespace

void add_papers(CLI::App& app, Exit& code) {
  const auto options = std::make_shared<PapersOptions>();
  CLI::App* command = app.add_subcommand("papers", "Write what the bench needs for FILE: lists, labels, test sheet");
  command->add_option("FILE", options->file, "A loom file; - is stdin")->required();
  command->add_option("-o,--out", options->out, "The folder to write; it must not exist")->required();
  command->add_flag("--replace", options->replace, "Replace the folder, where it holds nothing but papers");
  command->add_option("--slack", options->slack, "Added to every wire when cutting: '50 mm' or '5 %'");
  add_time_limit(*command);
  command->callback([options, &code] { code = write_papers(*options); });
}

}  // namespace loomproof
