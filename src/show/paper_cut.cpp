// Cut list and materials: what to cut, how long, and how much cable that takes.
#include <map>
#include <tuple>

#include <fmt/format.h>

#include "show/paper.h"

namespace loomproof {
namespace {

std::string volts_text(const Wire& wire) {
  return wire.volts ? wire.volts->written : std::string();
}

std::string slack_note(const Slack& slack) {
  if (slack.said.empty()) {
    return "Slack: none is stated, so the cut length is the length of the file. State it with --slack, for example "
           "--slack \"50 mm\" or --slack \"5 %\".";
  }
  return fmt::format("Slack: {} on every wire, as stated with --slack; the checks reckon with the length of the file.",
                     slack.said);
}

std::size_t without_length(const Loom& loom) {
  std::size_t n = 0;
  for (const Wire& wire : loom.wires) n += wire.length ? 0 : 1;
  return n;
}

void note_lacking(const Loom& loom, Paper& paper) {
  if (const std::size_t n = without_length(loom); n > 0) {
    paper.notes.push_back(
        fmt::format("{} wires have no length in the file: measure them, write them in, and they are "
                    "not in any sum here.",
                    n));
  }
}

}  // namespace

Paper cut_list(const Solved& solved, const Slack& slack) {
  const Loom& loom = *solved.loom;
  Paper paper;
  paper.slug = "cut-list";
  paper.title = "Cut list";
  paper.landscape = true;
  paper.columns = {{"wire"},
                   {"size"},
                   {"colour"},
                   {"insulation"},
                   {"cable V"},
                   {"length mm", true, true},
                   {"slack mm", false, true},
                   {"cut mm", true, true},
                   {"from"},
                   {"strip mm, from", true},
                   {"to"},
                   {"strip mm, to", true},
                   {"runs in"},
                   {"cut", true}};
  PaperSection section;
  double sum_m = 0, cut_m = 0;
  for (const Wire& wire : loom.wires) {
    std::string length, slack_mm, cut;
    if (wire.length) {
      const Metre more = slack.of(wire.length->value);
      length = millimetres(wire.length->value);
      slack_mm = millimetres(more);
      cut = millimetres(wire.length->value + more);
      sum_m += wire.length->value.value;
      cut_m += (wire.length->value + more).value;
    }
    section.rows.push_back({wire.name, size_text(wire), given_text(wire.colour), given_text(wire.insulation),
                            volts_text(wire), length, slack_mm, cut, loom.title(wire.from), "", loom.title(wire.to), "",
                            runs_in(loom, wire), ""});
  }
  paper.sections.push_back(std::move(section));
  paper.notes.push_back(
      fmt::format("Sum of lengths {} mm, to cut {} mm.", millimetres(Metre(sum_m)), millimetres(Metre(cut_m))));
  paper.notes.push_back(slack_note(slack));
  paper.notes.emplace_back("Colours are IEC 60757 letter codes; empty = not in the file.");
  paper.notes.emplace_back(
      "Strip length belongs to the lug or contact that you bought: take it from its data sheet and write it in.");
  note_lacking(loom, paper);
  return paper;
}

Paper materials(const Solved& solved, const Slack& slack) {
  const Loom& loom = *solved.loom;
  struct Sum {
    std::size_t wires = 0, lacking = 0;
    Metre length{}, cut{};
    std::string size;
  };
  // Thick first, then as the shelves are sorted: insulation, voltage, colour.
  std::map<std::tuple<double, std::string, std::string, std::string>, Sum> sums;
  for (const Wire& wire : loom.wires) {
    const double area = wire.size ? wire.size->value.value : 0;
    Sum& sum = sums[{-area, given_text(wire.insulation), volts_text(wire), given_text(wire.colour)}];
    ++sum.wires;
    sum.size = size_text(wire);
    if (!wire.length) {
      ++sum.lacking;
      continue;
    }
    sum.length = sum.length + wire.length->value;
    sum.cut = sum.cut + wire.length->value + slack.of(wire.length->value);
  }
  Paper paper;
  paper.slug = "materials";
  paper.title = "Materials: cable by size and colour";
  paper.columns = {{"size"},
                   {"insulation"},
                   {"cable V"},
                   {"colour"},
                   {"wires", false, true},
                   {"without length", false, true},
                   {"length mm", false, true},
                   {"cut mm", false, true},
                   {"in stock", true}};
  PaperSection section;
  for (const auto& [key, sum] : sums) {
    section.rows.push_back({sum.size, std::get<1>(key), std::get<2>(key), std::get<3>(key), std::to_string(sum.wires),
                            sum.lacking > 0 ? std::to_string(sum.lacking) : "", millimetres(sum.length),
                            millimetres(sum.cut), ""});
  }
  paper.sections.push_back(std::move(section));
  paper.notes.push_back(slack_note(slack));
  paper.notes.emplace_back("Offcuts and spare are not counted.");
  note_lacking(loom, paper);
  return paper;
}

}  // namespace loomproof
