// `draw`: the wiring diagram of one file, with its findings as numbered markers.
#include <memory>

#include <fmt/format.h>

#include "main/commands.h"
#include "main/input.h"
#include "main/output.h"
#include "rules/ledger.h"
#include "show/diagram.h"
#include "show/run_dot.h"
#include "show/wash.h"
#include "solve/solved.h"

namespace loomproof {
namespace {

struct Options {
  std::string file;
  std::string out;
};

// What stands after the last dot of the file's own name, where it is a form that can be drawn.
std::optional<std::string> form_of(const std::string& path) {
  for (const char* form : {"svg", "pdf", "png", "dot"}) {
    if (path.ends_with(std::string(".") + form)) return form;
  }
  return std::nullopt;
}

Exit draw_file(const Options& options) {
  const std::optional<std::string> form = form_of(options.out);
  if (!form) {
    tell(fmt::format("cannot tell the form of '{}': its name must end in .svg, .pdf, .png or .dot",
                     washed(options.out)));
    return Exit::unusable;
  }
  const Loaded loaded = load_or_tell(options.file);
  if (!loaded.result.loom) return Exit::unusable;
  const Loom& loom = *loaded.result.loom;
  const Solved solved = solve(loom);
  const Judgement judgement = judge(solved);
  std::string picture = dot_text({loom, &judgement, solved.zone});
  if (*form != "dot") {
    const DrawFormat format = *form == "pdf" ? DrawFormat::pdf : *form == "png" ? DrawFormat::png : DrawFormat::svg;
    DrawResult drawn = draw(picture, format);
    if (drawn.outcome != DrawOutcome::drawn) {
      const bool missing = drawn.outcome == DrawOutcome::missing;
      tell(washed(missing ? "cannot find 'dot': install the package graphviz, or write to a .dot file" : drawn.error));
      return Exit::outside;
    }
    picture = std::move(drawn.bytes);
  }
  if (const std::optional<std::string> error = write_whole(options.out, picture)) {
    tell(*error);
    return Exit::outside;
  }
  return Exit::holds;
}

}  // namespace

void add_draw(CLI::App& app, Exit& code) {
  const auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand("draw", "Draw the wiring diagram of FILE, findings marked");
  command->add_option("FILE", options->file, "A loom file; - is stdin")->required();
  command->add_option("-o,--out", options->out, "Where to: a name that ends in .svg, .pdf, .png or .dot")->required();
  command->callback([options, &code] { code = draw_file(*options); });
}

}  // namespace loomproof
