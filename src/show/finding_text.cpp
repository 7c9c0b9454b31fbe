// A finding in the shape of a compiler's message: what and how much, where, then why and what to do.
#include "show/finding_text.h"

#include <fmt/format.h>

#include "rules/list.h"
#include "show/wash.h"

namespace loomproof {
namespace {

std::string_view tint_of(const Obligation& owed, const Paint& paint) {
  if (owed.verdict != Verdict::broken) return paint.caution;
  return owed.weight() <= Severity::damage ? paint.danger : paint.caution;
}

}  // namespace

std::string_view headword_of(const Obligation& owed) {
  return owed.verdict == Verdict::broken ? name_of(owed.weight()) : name_of(Verdict::undecided);
}

std::string_view slug_of(const Obligation& owed) {
  return owed.rule ? owed.rule->slug : "no-rule";
}

std::string sentence_of(const Obligation& owed) {
  if (!owed.what.empty()) return owed.what;
  if (owed.figure) return fmt::format("'{}': {} of {}", owed.subject.name, owed.figure->value, owed.figure->limit);
  if (!owed.verdict) return fmt::format("'{}' was left without a verdict", owed.subject.name);
  return fmt::format("'{}'", owed.subject.name);
}

std::string finding_text(const Loom& loom, const Obligation& owed, std::size_t number, const Paint& paint) {
  std::string out = fmt::format("{}{}{}: {}: {}{}{}\n", tint_of(owed, paint), headword_of(owed), paint.off,
                                slug_of(owed), paint.strong, washed(sentence_of(owed)), paint.off);
  const Place at = owed.subject.at;
  out += excerpt_of(loom.file, at, loom.lines, paint, fmt::format("  [{}]", number));

  // Details start one column to the right of the bar, below the source line.
  const std::string gutter(at ? std::to_string(at.line).size() + 1 : 2, ' ');
  const auto detail = [&](std::string_view text) {
    out += fmt::format("{}{}={} {}\n", gutter, paint.faint, paint.off, washed(text));
  };
  if (!owed.situation.empty()) detail(owed.situation);
  for (const Note& note : owed.notes) {
    if (note.at) {
      detail(fmt::format("{}:{}  {}", note.at.line, note.at.column, note.text));
    } else {
      detail(note.text);
    }
  }
  if (!owed.mend.empty()) detail("fix: " + owed.mend);
  return out;
}

}  // namespace loomproof
