// Findings as a person meets them on the page: number, sentence, figures, fix.
#include <algorithm>

#include <fmt/format.h>

#include "rules/list.h"
#include "show/finding_text.h"
#include "show/report_escape.h"
#include "show/report_sections.h"

namespace loomproof::report {
namespace {

std::string place_text(const Loom& loom, Place at) {
  if (!at) return {};
  std::string out = fmt::format("<code>{}:{}</code>", html(loom.file), at.line);
  const auto line = static_cast<std::size_t>(at.line);
  if (line <= loom.lines.size()) {
    std::string_view text = loom.lines[line - 1];
    const std::size_t start = text.find_first_not_of(" \t");
    constexpr std::size_t most = 400;
    if (start != std::string_view::npos) out += fmt::format(" <code>{}</code>", html(text.substr(start, most)));
  }
  return out;
}

std::string finding(const Story& story, const Obligation& owed, std::size_t number) {
  const bool broken = owed.verdict == Verdict::broken;
  const std::string_view verdict = broken ? "broken" : "undecided";
  std::string out = fmt::format("<article class=\"finding\" id=\"f{0}\" data-finding=\"{0}\"{1}>", number,
                                owed.subject.wire ? fmt::format(" data-wire=\"{}\"", owed.subject.wire->value) : "");
  out += fmt::format("<span class=\"marker m-{}\" aria-hidden=\"true\">{}</span>", verdict, number);
  out += fmt::format("<h3><span class=\"word {}\">{}:</span> {}</h3>", verdict, headword_of(owed),
                     html(sentence_of(owed)));
  if (owed.figure) {
    out += fmt::format("<ul class=\"figures\"><li>computed <b>{}</b></li><li>limit <b>{}</b></li></ul>",
                       html(owed.figure->value), html(owed.figure->limit));
  }
  if (!owed.situation.empty()) out += fmt::format("<p>Worst in: {}</p>", html(owed.situation));
  for (const Note& note : owed.notes) {
    out += fmt::format("<p>{}{}</p>", html(note.text), note.at ? fmt::format(" (line {})", note.at.line) : "");
  }
  if (!owed.mend.empty()) {
    out += fmt::format("<p class=\"fix\"><b>{}:</b> {}</p>", broken ? "Fix" : "To decide it", html(owed.mend));
  }
  out += fmt::format("<p class=\"faint\">{}{} Rule <code>{}</code>; <code>loomproof why {}</code> explains it.</p>",
                     owed.rule ? "What must hold: " : "", owed.rule ? html(owed.rule->promise) : "", slug_of(owed),
                     slug_of(owed));
  const std::string place = place_text(story.loom, owed.subject.at);
  if (!place.empty()) out += fmt::format("<p class=\"faint\">{}</p>", place);
  if (owed.subject.wire || owed.subject.part) {
    out += fmt::format(
        "<p class=\"scripted\"><button class=\"plain\" type=\"button\" data-show=\"{}\">Show {} in the "
        "diagram</button></p>",
        number, html(owed.subject.name));
  }
  return out + "</article>";
}

std::string list_of(const Story& story, Verdict verdict) {
  std::string out;
  for (std::size_t i = 0; i < story.findings.size(); ++i) {
    if (story.findings[i]->verdict.value_or(Verdict::undecided) == verdict)
      out += finding(story, *story.findings[i], i + 1);
  }
  return out;
}

}  // namespace

std::string findings(const Story& story) {
  const std::string list = list_of(story, Verdict::broken);
  return list.empty() ? "<p>Nothing is broken: no obligation is past its limit.</p>" : list;
}

std::string undecided(const Story& story) {
  const std::string list = list_of(story, Verdict::undecided);
  if (list.empty()) return "<p>Nothing is undecided: no fact was missing.</p>";
  return "<p>A fact is missing in each of these, so nobody can say whether it holds. It is not a pass.</p>" + list;
}

std::vector<std::size_t> findings_of(const Story& story, WireIndex wire) {
  std::vector<std::size_t> numbers;
  for (std::size_t i = 0; i < story.findings.size(); ++i) {
    if (story.findings[i]->subject.wire == wire) numbers.push_back(i + 1);
  }
  return numbers;
}

}  // namespace loomproof::report
