// `draw`: the wiring diagram of one file, with its findings as numbered markers.
#include <algorithm>
#include <memory>

#include <fmt/format.h>

#include "main/commands.h"
#include "main/input.h"
#include "main/output.h"
#include "main/time_limit.h"
#include "model/time_limit.h"
#include "read/nearest.h"
#include "rules/ledger.h"
#include "show/diagram.h"
#include "show/diagram_view.h"
#include "show/file_mark.h"
#include "show/run_dot.h"
#include "show/shown_zones.h"
#include "show/wash.h"
#include "solve/solved.h"

namespace loomproof {
namespace {

struct DrawOptions {
  std::string file;
  std::string out;
  std::vector<std::string> view;
  std::string date;
  std::string paper = "a4";
  std::size_t finding = 0;  // from 1; 0: none
};

// What stands after the last dot of the file's own name, where it is a form that can be drawn.
std::optional<std::string> form_of(const std::string& path) {
  for (const char* form : {"svg", "pdf", "png", "dot"}) {
    if (path.ends_with(std::string(".") + form)) return form;
  }
  return std::nullopt;
}

// `plan.svg` of several sheets becomes `plan-1.svg`, `plan-2.svg`, ...
std::string name_of_sheet(const std::string& out, std::size_t sheet) {
  const std::size_t dot = out.rfind('.');
  return fmt::format("{}-{}{}", out.substr(0, dot), sheet, out.substr(dot));
}

// `--view power FILE`: the word after a view that takes no name is the file.
void give_back_file(DrawOptions& options) {
  if (options.view.size() < 2 || options.view[0] == "bundle" || !options.file.empty()) return;
  options.file = options.view[1];
  options.view.resize(1);
}

// @return a sentence when the view cannot be shown
std::optional<std::string> set_view(const DrawOptions& options, const Loom& loom, DiagramRequest& request) {
  if (options.view.empty()) return std::nullopt;
  const std::string& view = options.view[0];
  if (view == "bundle") {
    if (options.view.size() < 2) return "--view bundle needs the name of a bundle";
    std::vector<std::string_view> known;
    for (std::size_t b = 0; b < loom.bundles.size(); ++b) {
      known.push_back(loom.bundles[b].name);
      if (loom.bundles[b].name != options.view[1]) continue;
      request.wires = wires_of_bundle(loom, BundleIndex{b});
      request.view_name = "bundle " + options.view[1];
      return std::nullopt;
    }
    const std::optional<std::string_view> near = find_nearest(options.view[1], known);
    return fmt::format("there is no bundle '{}'{}", washed(options.view[1]),
                       near ? fmt::format("; did you mean '{}'?", washed(*near)) : "");
  }
  if (options.view.size() > 1) return fmt::format("--view {} takes no name", washed(view));
  if (view == "all") return std::nullopt;
  if (view != "power" && view != "control") {
    return fmt::format("there is no view '{}': power, control, all, or bundle NAME", washed(view));
  }
  request.wires = wires_of_view(loom, request.zones, view == "power" ? DiagramView::power : DiagramView::control);
  request.view_name = view == "power" ? "power" : "control and loads";
  return std::nullopt;
}

// @return a sentence when there is no such finding
std::optional<std::string> set_path(const DrawOptions& options, const Judgement& judgement, DiagramRequest& request) {
  if (options.finding == 0) return std::nullopt;
  const std::vector<const Obligation*> findings = judgement.findings();
  if (options.finding > findings.size()) {
    return fmt::format("there is no finding {}: the file has {}", options.finding, findings.size());
  }
  const Obligation& owed = *findings[options.finding - 1];
  request.path = owed.path;
  if (const std::optional<WireIndex> wire = owed.subject.wire;
      wire && std::find(request.path.begin(), request.path.end(), *wire) == request.path.end()) {
    request.path.push_back(*wire);
  }
  return std::nullopt;
}

Exit refuse_draw(const std::string& why) {
  tell(why);
  return Exit::unusable;
}

Exit fail_draw(const std::string& why) {
  tell(why);
  return Exit::outside;
}

/// Every sheet is drawn before the first is written: either all files are there, or none is.
Exit write_sheets(const std::vector<std::string>& sheets, const std::string& out, const std::string& form) {
  std::vector<std::string> pictures;
  const DrawFormat format = form == "pdf" ? DrawFormat::pdf : form == "png" ? DrawFormat::png : DrawFormat::svg;
  for (const std::string& sheet : sheets) {
    go_on();
    DrawResult drawn = draw(sheet, format);
    if (drawn.outcome == DrawOutcome::missing) {
      return fail_draw("cannot find 'dot': install the package graphviz, or write to a .dot file");
    }
    if (drawn.outcome != DrawOutcome::drawn) return fail_draw(washed(drawn.error));
    pictures.push_back(std::move(drawn.bytes));
  }
  for (std::size_t i = 0; i < pictures.size(); ++i) {
    const std::string path = pictures.size() == 1 ? out : name_of_sheet(out, i + 1);
    if (const std::optional<std::string> error = write_whole(path, pictures[i])) return fail_draw(*error);
  }
  if (pictures.size() == 1) return Exit::holds;
  return write_stdout(fmt::format("{} sheets: {} to {}\n", pictures.size(), washed(name_of_sheet(out, 1)),
                                  washed(name_of_sheet(out, pictures.size()))))
             ? Exit::holds
             : Exit::outside;
}

Exit draw_file(DrawOptions options) {
  give_back_file(options);
  if (options.file.empty()) return refuse_draw("FILE is required");
  const std::optional<std::string> form = form_of(options.out);
  if (!form) {
    return refuse_draw(fmt::format("cannot tell the form of '{}': its name must end in .svg, .pdf, .png or .dot",
                                   washed(options.out)));
  }
  const Loaded loaded = load_or_tell(options.file);
  if (!loaded.result.loom) return Exit::unusable;
  const Loom& loom = *loaded.result.loom;
  // What cannot be drawn is told before the long work begins.
  DiagramRequest trial{loom, nullptr, std::vector<Zone>(loom.terminals.size(), Zone::none)};
  if (const std::optional<std::string> why = set_view(options, loom, trial)) return refuse_draw(*why);
  const Solved solved = solve(loom);
  const Judgement judgement = judge(solved);
  DiagramRequest request{loom, &judgement, shown_zones(solved)};
  request.date = options.date;
  request.file_mark = file_mark(loaded.text);
  request.caution = sheet_caution(solved);
  request.paper = options.paper == "a3" ? DiagramPaper::a3 : DiagramPaper::a4;
  if (const std::optional<std::string> why = set_view(options, loom, request)) return refuse_draw(*why);
  if (const std::optional<std::string> why = set_path(options, judgement, request)) return refuse_draw(*why);
  const std::vector<std::string> sheets = dot_sheets(request);
  if (*form != "dot") return write_sheets(sheets, options.out, *form);
  std::string text;
  for (const std::string& sheet : sheets) text += sheet;
  if (const std::optional<std::string> error = write_whole(options.out, text)) return fail_draw(*error);
  return Exit::holds;
}

}  // namespace

void add_draw(CLI::App& app, Exit& code) {
  const auto options = std::make_shared<DrawOptions>();
  CLI::App* command = app.add_subcommand("draw", "Draw the wiring diagram of FILE, findings marked");
  command->add_option("FILE", options->file, "A loom file; - is stdin");
  command->add_option("-o,--out", options->out, "Where to: a name that ends in .svg, .pdf, .png or .dot")->required();
  command
      ->add_option("--view", options->view,
                   "power: traction and the 12 V supply; control: all the rest; all; bundle NAME")
      ->expected(1, 2)
      ->type_name("VIEW [NAME]");
  command->add_option("--paper", options->paper, "a4 or a3, landscape")->check(CLI::IsMember({"a4", "a3"}));
  command->add_option("--date", options->date, "For the title block; nothing is printed without it")->type_name("TEXT");
  command
      ->add_option("--finding", options->finding,
                   "Lay a band under the wire that finding NUMBER of check is about, and where it tells a current's "
                   "way, under that way")
      ->type_name("NUMBER")
      ->check(CLI::PositiveNumber);
  add_time_limit(*command);
  command->callback([options, &code] { code = draw_file(*options); });
}

}  // namespace loomproof
