// What several papers share: figures as a bench reads them, cautions, the list of all papers.
#include <cmath>

#include <fmt/format.h>

#include "rules/voltage_class.h"
#include "show/paper.h"
#include "show/paper_sheet.h"
#include "solve/supply.h"
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

bool above_touch_limit(const Solved& solved) {
  return traction_full_v(solved.circuit) > class_a_v;
}

std::vector<std::string> bench_cautions(const Solved& solved) {
  std::vector<std::string> out;
  const double full_v = traction_full_v(solved.circuit);
  if (above_touch_limit(solved)) {
    out.push_back(
        fmt::format("Shock: this vehicle has {} with the pack full. Above 60 V DC a touch can kill (limit of ISO "
                    "6469-3). Never work "
                    "alone, never on live parts, one hand where you can, gloves and tools rated for the voltage.",
                    show(Volt(full_v))));
  } else if (full_v > 0) {
    out.push_back(fmt::format(
        "Shock: {} with the pack full is below the 60 V DC limit of ISO 6469-3, which is made for dry skin. "
        "Wet hands, rings, watches and tools are not covered by it.",
        show(Volt(full_v))));
  }
  out.push_back(
      "Stored energy in the pack: it cannot be switched off. A tool across its poles melts, burns and throws metal. "
      "Cover every pole that you are not working on; wear eye protection; take rings and watches off.");
  bool bank = false;
  for (const Capacitance& c : solved.loom->elements.capacitances) {
    if (!c.farad) continue;
    bank = true;
    out.push_back(fmt::format(
        "Stored energy in capacitors: {} in '{}' hold {} when charged, also with the pack parted "
        "and the key off. Measure, and wait until it is below 5 V, before you touch it.",
        show(Farad(*c.farad)), solved.loom->part(c.part).name, show(Joule(0.5 * *c.farad * full_v * full_v))));
  }
  if (!bank) {
    out.push_back(
        "Stored energy in capacitors: controllers and converters hold a charge, also with the pack parted and the key "
        "off. Measure, and wait until it is below 5 V, before you touch it.");
  }
  out.push_back(
      "Arc: direct current does not go out by itself. Never pull a connector, a fuse or the service plug under load.");
  out.push_back(
      "Local codes come first, and much of this is work for a licensed person in many places. This paper is a "
      "computation from a description, no approval.");
  return out;
}

std::vector<PaperFile> papers_of(const Solved& solved, const Judgement& judgement, const Slack& slack,
                                 std::string_view file_mark) {
  std::vector<PaperFile> files;
  const std::vector<std::string> found = finding_cautions(judgement);
  for (Paper paper : {cut_list(solved, slack), terminations(solved), pin_tables(solved), fuse_schedule(solved),
                      labels(solved), materials(solved, slack), test_sheet(solved)}) {
    paper.cautions.insert(paper.cautions.begin(), found.begin(), found.end());
    files.push_back({paper.slug + ".csv", paper_csv(paper)});
    files.push_back({paper.slug + ".html", paper_html(paper, *solved.loom, file_mark)});
  }
  return files;
}

}  // namespace loomproof
