// What several papers share: figures as a bench reads them, what the check found, the list of all papers.
#include <cmath>

#include <fmt/format.h>

#include "show/caution.h"
#include "show/paper.h"
#include "show/paper_sheet.h"
#include "units/conductor.h"
#include "units/print.h"

namespace loomproof {
namespace {

std::vector<std::string> finding_cautions(const Judgement& judgement) {
  std::vector<std::string> out;
  const std::size_t broken = judgement.count(Verdict::broken), undecided = judgement.count(Verdict::undecided);
  if (broken > 0) {
    out.push_back(
        fmt::format("The check found {} obligation{} BROKEN in this design. Do not build it from these papers: "
                    "mend the design first (`loomproof check`).",
                    broken, broken == 1 ? "" : "s"));
  }
  if (undecided > 0) {
    out.push_back(
        fmt::format("The check could not decide {} obligation{}: data are missing, so nothing says that these "
                    "hold (`loomproof check`).",
                    undecided, undecided == 1 ? "" : "s"));
  }
  if (judgement.waived() > 0) {
    out.push_back(fmt::format("{} finding{} set aside by a waiver of the file (`loomproof check`).", judgement.waived(),
                              judgement.waived() == 1 ? " is" : "s are"));
  }
  return out;
}

}  // namespace

std::string millimetres(Metre length) {
  std::string text = fmt::format("{:.3f}", length.value * 1000);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.ends_with('.')) text.pop_back();
  return text == "-0" ? "0" : text;
}

std::string size_text(const Wire& wire) {
  if (!wire.size) return {};
  const SquareMillimetre area = wire.size->value;
  return awg_of(area) && wire.size->written.find("mm") == std::string::npos
             ? fmt::format("{} ({})", wire.size->written, show(area))
             : show(area);
}

std::string given_text(const std::optional<Placed<std::string>>& value) {
  return value ? value->value : std::string();
}

std::string runs_in(const Loom& loom, const Wire& wire) {
  std::string out;
  for (BundleIndex b : wire.bundles) out += (out.empty() ? "" : ", ") + loom.bundles[b.value].name;
  return out;
}

std::string wires_at(const Loom& loom, TerminalIndex t, const Wire* self) {
  std::string out;
  for (const Wire& wire : loom.wires) {
    if (&wire != self && (wire.from == t || wire.to == t)) out += (out.empty() ? "" : " ") + wire.name;
  }
  return out;
}

std::vector<PaperFile> papers_of(const Solved& solved, const Judgement& judgement, const Slack& slack,
                                 std::string_view file_mark) {
  std::vector<PaperFile> files;
  const std::vector<std::string> found = finding_cautions(judgement);
  const std::string line = sheet_caution(solved);
  for (Paper paper : {cut_list(solved, slack), terminations(solved), pin_tables(solved), fuse_schedule(solved),
                      labels(solved), materials(solved, slack), test_sheet(solved)}) {
    if (paper.cautions.empty()) paper.cautions.push_back(line);
    paper.cautions.insert(paper.cautions.begin(), found.begin(), found.end());
    paper.foot = line;
    files.push_back({paper.slug + ".csv", paper_csv(paper)});
    files.push_back({paper.slug + ".html", paper_html(paper, *solved.loom, file_mark)});
  }
  return files;
}

}  // namespace loomproof
