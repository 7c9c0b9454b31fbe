// The whole answer of `check` for one file, in the order in which a person needs it.
#include <algorithm>
#include <array>
#include <map>

#include <fmt/format.h>

#include "rules/list.h"
#include "show/assumption_text.h"
#include "show/caution.h"
#include "show/finding_text.h"
#include "show/kind_values.h"
#include "show/show.h"
#include "show/single_points.h"
#include "show/stud_names.h"
#include "show/terminal_text.h"
#include "show/wash.h"

namespace loomproof {
namespace {

std::string heading(std::string_view text, const Paint& paint) {
  return fmt::format("{}{}{}\n", paint.strong, text, paint.off);
}

// Never rounded up to the limit: what holds does not read "100.0 %" unless it is at the limit.
std::string percent(double used) {
  const double shown = used < 1 ? std::min(used * 100, 99.9) : used * 100;
  return fmt::format("{:.1f} %", shown);
}

std::string closest_text(const Judgement& judgement, std::size_t n, const Paint& paint) {
  const std::vector<const Obligation*> closest = judgement.closest(n);
  if (closest.empty()) return {};
  using Columns = std::array<std::string, 5>;
  std::vector<Columns> rows{{"rule", "subject", "figure", "limit", "used"}};
  for (const Obligation* owed : closest) {
    rows.push_back({std::string(slug_of(*owed)), owed->subject.name, owed->figure->value, owed->figure->limit,
                    percent(owed->figure->used)});
  }
  std::array<std::size_t, 5> widths{};
  for (const Columns& row : rows) {
    for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], width_of(row[i]));
  }
  std::string out =
      heading(fmt::format("closest to a limit, of the {} that hold", judgement.count(Verdict::holds)), paint);
  for (const Columns& row : rows) {
    std::string line = " ";
    for (std::size_t i = 0; i + 1 < row.size(); ++i) line += fmt::format(" {} ", padded(row[i], widths[i]));
    line += fmt::format(" {:>{}}", row[4], widths[4]);
    const bool is_head = &row == &rows.front();
    out += fmt::format("{}{}{}\n", is_head ? paint.faint : "", line, is_head ? paint.off : "");
  }
  return out + "\n";
}

std::string assumptions_text(const Loom& loom, const Judgement& judgement, const Paint& paint) {
  const std::size_t taken = kind_values(loom).size();
  const std::vector<std::string> studs = likely_slips_in_studs(loom);
  if (judgement.assumptions.empty() && studs.empty() && taken == 0) return {};
  std::string out = heading("assumed where the file is silent; write the value to override it", paint);
  for (const AssumptionLine& line : merged(loom, judgement.assumptions)) {
    std::string text = wrapped(line.text, 4, page_width);
    text.erase(0, 2);
    out += text;
  }
  for (const std::string& stud : studs) out += wrapped(washed(stud), 2, page_width);
  if (taken > 0) {
    out += wrapped(fmt::format("{} value{} that stand{} in the kinds of the parts (`loomproof report` lists {})", taken,
                               taken == 1 ? "" : "s", taken == 1 ? "s" : "", taken == 1 ? "it" : "them"),
                   2, page_width);
  }
  return out + "\n";
}

bool is_used(const Waiver& waiver, const Judgement& judgement) {
  return std::any_of(judgement.obligations.begin(), judgement.obligations.end(), [&](const Obligation& owed) {
    return owed.set_aside() && owed.waived == waiver.reason &&
           (waiver.rule == slug_of(owed) || waiver.rule == owed.subject.name) &&
           (waiver.subject.empty() || waiver.subject == owed.subject.name);
  });
}

std::string waivers_text(const Loom& loom, const Judgement& judgement, const Paint& paint) {
  std::string out;
  for (const Obligation& owed : judgement.obligations) {
    if (!owed.set_aside()) continue;
    out += fmt::format("  {}: {}: {}\n", headword_of(owed), slug_of(owed), washed(sentence_of(owed)));
    out += wrapped(fmt::format("reason given: {}", owed.waived), 4, page_width);
  }
  for (const Waiver& waiver : loom.waivers) {
    if (is_used(waiver, judgement)) continue;
    const std::string target = waiver.subject.empty() ? "" : fmt::format(" for '{}'", waiver.subject);
    out += fmt::format("  {}:{}  waiver of '{}'{} sets nothing aside\n", waiver.at.line, waiver.at.column,
                       washed(waiver.rule), washed(target));
    out += wrapped(fmt::format("reason given: {}", waiver.reason), 4, page_width);
  }
  return out.empty() ? out : heading("waived by the file", paint) + out + "\n";
}

std::string coverage_text(const Coverage& coverage, const Paint& paint) {
  std::string text;
  if (coverage.situations_possible == 0) {
    text = "no situation was computed";
  } else if (coverage.situations_covered >= coverage.situations_possible && coverage.left_out.empty()) {
    text = fmt::format("{}, all that are possible", counted(coverage.situations_covered, "situation"));
  } else {
    text = fmt::format("{} of {}", coverage.situations_covered, counted(coverage.situations_possible, "situation"));
    if (!coverage.in_between.empty()) {
      text += fmt::format(" settled; between them lie the others, {}", coverage.in_between);
    } else {
      text +=
          coverage.left_out.empty() ? "; the rest was not looked at" : fmt::format("; left out: {}", coverage.left_out);
    }
  }
  std::string out = heading("looked at", paint) + wrapped(text, 2, page_width);
  if (coverage.single_faults > 0) {
    std::string faults = fmt::format(
        "{} in {}: {} with what must never be, {} of them ruled out in every state at once by what voltage there can "
        "be, "
        "{} settled for the others",
        counted(coverage.single_faults, "single fault"), counted(coverage.fault_states, "situation"),
        counted(coverage.fault_pairs, "pair"), coverage.fault_bounded, counted(coverage.fault_points, "point"));
    if (coverage.fault_cut > 0)
      faults +=
          fmt::format("; {} of a fault and a cone that it cannot touch left out", counted(coverage.fault_cut, "pair"));
    if (!coverage.fault_left_out.empty()) faults += fmt::format("; left out: {}", coverage.fault_left_out);
    out += wrapped(faults, 2, page_width);
  }
  return out + "\n";
}

std::string single_points_text(const Judgement& judgement, const Paint& paint) {
  if (judgement.single_points.empty()) return {};
  std::string out =
      heading("single points of failure that remain; only a second switch, contact or wire removes them", paint);
  for (const std::string& line : lines_of(judgement.single_points)) {
    std::string text = wrapped(washed(line), 4, page_width);
    out += text.erase(0, 2);
  }
  return out + "\n";
}

std::string cautions_text(const Paint& paint) {
  std::string out = heading("before you touch it", paint);
  for (const Caution& caution : general_cautions()) out += wrapped(caution.text, 2, page_width);
  return out + "\n";
}

// "3 broken (2 danger, 1 damage)".
std::string broken_text(const Judgement& judgement) {
  std::array<std::size_t, 4> by_severity{};
  for (const Obligation* owed : judgement.findings()) {
    if (owed->verdict == Verdict::broken) ++by_severity[static_cast<std::size_t>(owed->weight())];
  }
  std::vector<std::string> counts;
  for (Severity severity : {Severity::danger, Severity::damage, Severity::nuisance, Severity::paperwork}) {
    const std::size_t n = by_severity[static_cast<std::size_t>(severity)];
    if (n > 0) counts.push_back(fmt::format("{} {}", n, name_of(severity)));
  }
  const std::string detail = counts.empty() ? "" : fmt::format(" ({})", fmt::join(counts, ", "));
  return fmt::format("{} broken{}", judgement.count(Verdict::broken), detail);
}

std::string closing_text(const Loom& loom, const Judgement& judgement, const Paint& paint) {
  const std::size_t broken = judgement.count(Verdict::broken);
  const std::size_t undecided = judgement.count(Verdict::undecided);
  const std::string_view tint = broken > 0 ? paint.danger : undecided > 0 ? paint.caution : paint.good;
  return fmt::format("{}{}: {} hold, {}, {} undecided, {} waived{}\n", tint, washed(loom.file),
                     judgement.count(Verdict::holds), broken_text(judgement), undecided, judgement.waived(), paint.off);
}

}  // namespace

std::string text_of(const Loom& loom, const Judgement& judgement, const TextStyle& style) {
  const Paint paint = paint_of(style.colour);
  std::string out;
  const std::vector<const Obligation*> findings = judgement.findings();
  std::map<std::string, std::size_t> told;  // the first of each shape
  for (std::size_t i = 0; i < findings.size(); ++i) {
    const auto [first, fresh] = told.try_emplace(shape_of(*findings[i]), i);
    out += fresh ? finding_text(loom, *findings[i], i + 1, paint)
                 : finding_like(loom, *findings[i], i + 1, *findings[first->second], first->second + 1, paint);
    out += "\n";
  }
  out += closest_text(judgement, style.closest, paint);
  out += assumptions_text(loom, judgement, paint);
  out += waivers_text(loom, judgement, paint);
  out += single_points_text(judgement, paint);
  out += coverage_text(judgement.coverage, paint);
  out += cautions_text(paint);
  return out + closing_text(loom, judgement, paint);
}

}  // namespace loomproof
