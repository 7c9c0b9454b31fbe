// `report`: the whole story of one file as a single HTML page.
#include <memory>

#include <fmt/format.h>

#include "main/commands.h"
#include "main/input.h"
#include "main/output.h"
#include "main/time_limit.h"
#include "rules/ledger.h"
#include "show/diagram.h"
#include "show/file_mark.h"
#include "show/report.h"
#include "show/run_dot.h"
#include "show/shown_zones.h"
#include "show/wash.h"
#include "solve/solved.h"

namespace loomproof {
namespace {

struct ReportOptions {
  std::string file;
  std::string out;
};

Exit report_file(const ReportOptions& options) {
  const Loaded loaded = load_or_tell(options.file);
  if (!loaded.result.loom) return Exit::unusable;
  const Loom& loom = *loaded.result.loom;
  const Solved solved = solve(loom);
  const Judgement judgement = judge(solved);
  if (judgement.obligations.empty()) {
    // No obligation is no proof: a page without any would look like one.
    tell(fmt::format("{}: nothing in it concerns any rule, so there is nothing to report", washed(loaded.name)));
    return Exit::unusable;
  }
  const std::string mark = file_mark(loaded.text);
  DiagramRequest request{loom, &judgement, shown_zones(solved)};
  request.file_mark = mark;
  request.caution = sheet_caution(solved);
  const DrawResult drawn = draw(dot_text(request), DrawFormat::svg);
  if (drawn.outcome != DrawOutcome::drawn) {
    const bool missing = drawn.outcome == DrawOutcome::missing;
    tell(washed(missing ? "cannot find 'dot': install the package graphviz" : drawn.error));
    return Exit::outside;
  }
  if (const std::optional<std::string> error =
          write_whole(options.out, report_of(solved, judgement, drawn.bytes, mark))) {
    tell(*error);
    return Exit::outside;
  }
  return Exit::holds;
}

}  // namespace

void add_report(CLI::App& app, Exit& code) {
  const auto options = std::make_shared<ReportOptions>();
  CLI::App* command = app.add_subcommand("report", "Write the whole story of FILE as one HTML page");
  command->add_option("FILE", options->file, "A loom file; - is stdin")->required();
  command->add_option("-o,--out", options->out, "Where to, an HTML file")->required();
  add_time_limit(*command);
  command->callback([options, &code] { code = report_file(*options); });
}

}  // namespace loomproof
