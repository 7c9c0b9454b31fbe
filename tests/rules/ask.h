// Figures asked of a judged design: what to compare, with what, how near, and where the number comes from.
#pragma once

#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <yaml-cpp/yaml.h>

#include "rules/design.h"
#include "units/parse.h"

namespace loomproof::test {

/// One row of an .ask.yaml: {ask: figure of wire-heat on T4, is: 131 degC, within: 6 %, source: "..."}.
/// `ask` is `figure of`, `limit of`, `used of` (share of the limit), `sentence of`, `severity of` or
/// `wiring of` (yes where the finding is read from the wiring itself), then `<slug> on <subject>`.
/// Without `within` the texts must be equal. `falls_short` names a known shortfall: such a row must fail.
struct Ask {
  int line = 0;
  std::string what, slug, subject;
  std::string is;
  std::optional<double> within;
  std::string source;
  std::optional<std::string> falls_short;
};

/// Throws with a sentence on a row that is not of that shape: a row that nobody reads tests nothing.
inline std::vector<Ask> asks_of(const std::filesystem::path& path) {
  std::vector<Ask> out;
  const YAML::Node rows = YAML::LoadFile(path.string());
  for (const YAML::Node& row : rows) {
    Ask ask;
    ask.line = row.Mark().line + 1;
    const auto bad = [&](const std::string& why) {
      throw std::runtime_error(fmt::format("{}:{}: {}", short_name(path), ask.line, why));
    };
    for (const auto& pair : row) {
      const auto key = pair.first.as<std::string>();
      if (key != "ask" && key != "is" && key != "within" && key != "source" && key != "falls_short")
        bad("key '" + key + "' is not known in a row");
    }
    if (!row["ask"] || !row["is"] || !row["source"]) bad("a row needs ask, is and source");
    const auto words = row["ask"].as<std::string>();
    const std::size_t of = words.find(" of ");
    const std::size_t on = words.find(" on ");
    if (of == std::string::npos || on == std::string::npos || on < of)
      bad("'" + words + "' is not `figure of <slug> on <subject>`");
    ask.what = words.substr(0, of);
    ask.slug = words.substr(of + 4, on - of - 4);
    ask.subject = words.substr(on + 4);
    if (ask.what != "figure" && ask.what != "limit" && ask.what != "used" && ask.what != "sentence" &&
        ask.what != "severity" && ask.what != "wiring")
      bad("'" + ask.what + "' can not be asked for; figure, limit, used, sentence, severity and wiring can");
    if (find_rule(ask.slug) == nullptr) bad("'" + ask.slug + "' is no rule");
    ask.is = row["is"].as<std::string>();
    ask.source = row["source"].as<std::string>();
    // A sentence is our own wording; a figure comes from outside.
    if (ask.what != "sentence" && ask.source.size() < 8) bad("the source says nothing");
    if (row["within"]) {
      const auto share = parse_magnitude(row["within"].as<std::string>(), Dimension::ratio);
      if (!share) bad("within: " + share.error);
      ask.within = share.value->value;
    }
    if (row["falls_short"]) ask.falls_short = row["falls_short"].as<std::string>();
    out.push_back(ask);
  }
  if (out.empty()) throw std::runtime_error(short_name(path) + " asks for nothing");
  return out;
}

/// A printed figure such as `131 degC`, `1.6 kA` or `12.5 %` as number and dimension; several dimensions may read the
/// same text (a count is a ratio too), the first counts.
inline std::optional<Magnitude> number_in(const std::string& text) {
  for (const Dimension d : {Dimension::ratio, Dimension::current, Dimension::voltage, Dimension::resistance,
                            Dimension::capacitance, Dimension::power, Dimension::energy, Dimension::time,
                            Dimension::length, Dimension::area, Dimension::temperature, Dimension::charge}) {
    if (auto parsed = parse_magnitude(text, d)) return parsed.value;
  }
  return std::nullopt;
}

inline std::string answer_of(const Ask& ask, const Obligation& owed) {
  if (ask.what == "sentence") return owed.what;
  if (ask.what == "severity") return std::string(name_of(owed.weight()));
  if (ask.what == "wiring") return owed.wiring ? "yes" : "no";
  if (!owed.figure) return {};
  if (ask.what == "used") return fmt::format("{:.6f}", owed.figure->used);
  return ask.what == "limit" ? owed.figure->limit : owed.figure->value;
}

/// Nothing when the design answers as asked, else a sentence that says what it does answer.
inline std::optional<std::string> wrong_answer(const Ask& ask, const Judgement& judgement) {
  std::string seen;
  int comparable = 0;
  std::optional<std::string> wrong;
  const auto wanted = number_in(ask.is);
  if (ask.within && !wanted) return fmt::format("'{}' is no number with a unit", ask.is);
  for (const Obligation& owed : judgement.obligations) {
    if (owed.rule->slug != ask.slug || owed.subject.name != ask.subject) continue;
    const std::string answer = answer_of(ask, owed);
    seen += (seen.empty() ? "'" : ", '") + answer + "'";
    if (!ask.within) {
      if (answer == ask.is) return std::nullopt;
      continue;
    }
    const auto got = number_in(answer);
    if (!got || got->dimension != wanted->dimension) continue;
    ++comparable;
    const double off = std::fabs(got->value - wanted->value) / std::fabs(wanted->value);
    if (!(off <= *ask.within)) wrong = fmt::format("{} is off by {:.1f} %", answer, off * 100);
  }
  if (seen.empty()) return "there is no such obligation";
  if (!ask.within) return "the answer is " + seen;
  if (comparable == 0) return "no figure in that unit; there is " + seen;
  if (comparable > 1) return "more than one figure answers: " + seen;
  return wrong;
}

}  // namespace loomproof::test
