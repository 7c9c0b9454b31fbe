// A finding in the shape of a compiler's message: what and how much, where, then why and what to do.
#include "show/finding_text.h"

#include <algorithm>
#include <cctype>

#include <fmt/format.h>

#include "rules/list.h"
#include "show/wash.h"

namespace loomproof {
namespace {

std::string_view tint_of(const Obligation& owed, const Paint& paint) {
  if (owed.verdict != Verdict::broken) return paint.caution;
  return owed.weight() <= Severity::damage ? paint.danger : paint.caution;
}

// Names in quotes and numbers with their units taken out.
std::string bare(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size();) {
    const std::size_t close = text[i] == '\'' ? text.find('\'', i + 1) : std::string_view::npos;
    if (close != std::string_view::npos) {
      out += "'";
      i = close + 1;
    } else if (std::isdigit(static_cast<unsigned char>(text[i])) != 0) {
      const std::size_t end = std::min(text.find_first_not_of("0123456789.", i), text.size());
      i = end;
      if (i < text.size() && text[i] == ' ') i = std::min(text.find_first_of(" ,;)", i + 1), text.size());
      out += "#";
    } else {
      out += text[i++];
    }
  }
  return out;
}

std::string head_line(const Obligation& owed, const Paint& paint) {
  return fmt::format("{}{}{}: {}: {}{}{}\n", tint_of(owed, paint), headword_of(owed), paint.off, slug_of(owed),
                     paint.strong, washed(sentence_of(owed)), paint.off);
}

// Details start one column to the right of the bar, below the source line.
std::string detail(Place at, std::string_view text, const Paint& paint) {
  const std::string gutter(at ? std::to_string(at.line).size() + 1 : 2, ' ');
  return fmt::format("{}{}={} {}\n", gutter, paint.faint, paint.off, washed(text));
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
  const Place at = owed.subject.at;
  std::string out =
      head_line(owed, paint) + excerpt_of(loom.file, at, loom.lines, paint, fmt::format("  [{}]", number));
  if (!owed.situation.empty()) out += detail(at, owed.situation, paint);
  for (const Note& note : owed.notes) {
    out += detail(at, note.at ? fmt::format("{}:{}  {}", note.at.line, note.at.column, note.text) : note.text, paint);
  }
  if (!owed.mend.empty()) out += detail(at, "fix: " + owed.mend, paint);
  return out;
}

std::string shape_of(const Obligation& owed) {
  std::string out = fmt::format("{}\n{}\n{}\n{}\n", headword_of(owed), slug_of(owed), bare(sentence_of(owed)),
                                owed.situation.empty() ? "always" : "in");
  for (const Note& note : owed.notes) out += bare(note.text) + "\n";
  return out + bare(owed.mend);
}

std::string finding_like(const Loom& loom, const Obligation& owed, std::size_t number, const Obligation& told,
                         std::size_t told_number, const Paint& paint) {
  const Place at = owed.subject.at;
  std::string out = head_line(owed, paint) +
                    excerpt_of(loom.file, at, {}, paint, fmt::format("  [{}], as [{}]", number, told_number));
  if (owed.situation != told.situation) out += detail(at, owed.situation, paint);
  if (owed.mend != told.mend) out += detail(at, "fix: " + owed.mend, paint);
  return out;
}

}  // namespace loomproof
