// Fuse schedule: every fuse with its ratings, what it carries, what a short makes it break, what hangs on it.
#include <algorithm>

#include <fmt/format.h>

#include "rules/subject.h"
#include "show/fuse_use.h"
#include "show/paper.h"
#include "units/print.h"

namespace loomproof {
namespace {

// Wires for which it is the device with least to spare, as the check found it.
std::string protects(const Solved& solved, std::size_t fuse) {
  std::string out;
  for (std::size_t w = 0; w < solved.protection.wires.size(); ++w) {
    const WireProtection& p = solved.protection.wires[w];
    if (p.state != WireProtection::State::device || !p.fuse || *p.fuse != fuse) continue;
    out += (out.empty() ? "" : " ") + solved.loom->wires[w].name;
  }
  return out;
}

template <class T>
std::string given(const Datum& datum) {
  return datum ? show(T(*datum)) : std::string();
}

std::string use_text(const FuseUse& use) {
  return show(use.most) + (use.precharge ? " at the start of precharge" : "");
}

}  // namespace

Paper fuse_schedule(const Solved& solved) {
  const Loom& loom = *solved.loom;
  Paper paper;
  paper.slug = "fuse-schedule";
  paper.title = "Fuse schedule";
  paper.landscape = true;
  paper.columns = {{"fuse"},
                   {"rated", true},
                   {"DC volts", true},
                   {"breaks", true},
                   {"type", true},
                   {"wires at a"},
                   {"wires at b"},
                   {"most A in use", false, true},
                   {"short circuit A", false, true},
                   {"has least to spare for"},
                   {"part bought", true},
                   {"spare", true},
                   {"fitted", true}};
  PaperSection section;
  for (std::size_t f = 0; f < loom.elements.fuses.size(); ++f) {
    const Fuse& fuse = loom.elements.fuses[f];
    if (!is_wired(loom, fuse.a) && !is_wired(loom, fuse.b)) continue;
    const Part& part = loom.part(fuse.part);
    const bool alone = std::count_if(loom.elements.fuses.begin(), loom.elements.fuses.end(),
                                     [&](const Fuse& other) { return other.part == fuse.part; }) == 1;
    const FuseUse use = most_in_use(solved, f);
    const FuseFault& fault = solved.fuse_faults[f];
    std::string breaks = given<Ampere>(fuse.breaks_a);
    if (fuse.breaks_a && fuse.breaks_v) breaks += " at " + show(Volt(*fuse.breaks_v));
    section.rows.push_back(
        {alone ? part.name : part.name + "." + fuse.name, given<Ampere>(fuse.rated_a), given<Volt>(fuse.volts_v),
         breaks, fuse.curve, wires_at(loom, fuse.a), wires_at(loom, fuse.b), use_text(use),
         fault.untold || fault.battery ? "not known" : show(Ampere(fault.largest_a)), protects(solved, f), "", "", ""});
  }
  paper.sections.push_back(std::move(section));
  paper.notes.emplace_back(
      "Most A in use: largest computed current over all situations and duty points, no fault; where a precharge runs "
      "through it and its first moment has more (full pack, empty bus), that. The surge of cold lamps, and of a "
      "capacitance without a resistor before it, lasts milliseconds, is not in it, and is judged by the check "
      "(fuse-duty).");
  paper.notes.emplace_back(
      "Short circuit A: largest current that a bolted short can drive through it, pack full, copper at the coldest "
      "start "
      "(20 degC where the loom tells none); not known where the resistance of a source is not in the file.");
  paper.notes.emplace_back(
      "Has least to spare for: wires at which, of all devices round them, this one comes nearest to opening too late. "
      "Which device opens first in one fault depends on where it lies, so this is no list of what a fuse switches off. "
      "Fit no other rating: the check holds for this one.");
  std::string others;
  for (std::size_t w = 0; w < loom.wires.size(); ++w) {
    if (solved.protection.wires[w].fuse) continue;
    others += (others.empty() ? "" : ", ") + loom.wires[w].name;
  }
  if (!others.empty()) {
    paper.notes.push_back(
        "In no row, since their sources limit themselves, they are short enough to go without a device, "
        "no fault drives more than they carry, or a finding says why not: " +
        others + ".");
  }
  return paper;
}

}  // namespace loomproof
