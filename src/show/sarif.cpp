// The findings as one run of OASIS SARIF 2.1.0 (OASIS Standard, 27 March 2020); section numbers below are its own.
#include <algorithm>

#include <fmt/format.h>
#include "rules/list.h"
#include "show/finding_text.h"
#include "show/json_values.h"
#include "show/show.h"
#include "show/wash.h"

namespace loomproof {
namespace {

// 3.58.6: error, warning, note. What is undecided warns, whatever would be at stake.
std::string_view level_of(Severity severity) {
  if (severity <= Severity::damage) return "error";
  return severity == Severity::nuisance ? "warning" : "note";
}

std::string_view level_of(const Obligation& owed) {
  return owed.verdict == Verdict::broken ? level_of(owed.weight()) : "warning";
}

// 3.10.1: a path as a URI (RFC 3986); relative paths stay relative, and a first segment with a colon is escaped.
std::string uri_of(std::string_view file) {
  if (file == "-") return "stdin";
  std::string out = file.starts_with('/') ? "file://" : "";
  for (const char c : file) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '/' ||
                       c == '.' || c == '-' || c == '_' || c == '~';
    if (plain) {
      out += c;
    } else {
      out += fmt::format("%{:02X}", static_cast<unsigned char>(c));
    }
  }
  return out;
}

// 3.30: a region counts columns in characters here (columnKind below), ours count bytes.
Json region_of(Place at, const Loom* loom) {
  int column = std::max(at.column, 1);
  if (loom && static_cast<std::size_t>(at.line) <= loom->lines.size()) {
    const std::string_view line = loom->lines[static_cast<std::size_t>(at.line) - 1];
    const std::string_view before = line.substr(0, static_cast<std::size_t>(column - 1));
    column = static_cast<int>(glyphs_of(before).size()) + 1;
  }
  return {{"startLine", at.line}, {"startColumn", column}};
}

Json location_of(const FileAnswer& answer, Place at) {
  Json physical = {{"artifactLocation", {{"uri", uri_of(answer.file)}}}};
  if (at) physical["region"] = region_of(at, answer.loom);
  return {{"physicalLocation", physical}};
}

Json rule_of(const Rule& rule) {
  return {{"id", rule.slug},
          {"shortDescription", {{"text", rule.promise}}},
          {"defaultConfiguration", {{"level", level_of(rule.severity)}}},
          {"properties", {{"group", name_of(rule.group)}, {"severity", name_of(rule.severity)}}}};
}

Json result_of(const FileAnswer& answer, const Obligation& owed) {
  std::string message = sentence_of(owed);
  if (!owed.situation.empty()) message += fmt::format("\n{}", owed.situation);
  for (const Note& note : owed.notes) {
    if (!note.at) message += fmt::format("\n{}", note.text);
  }
  if (!owed.mend.empty()) message += fmt::format("\nfix: {}", owed.mend);

  Json result = {{"ruleId", slug_of(owed)},
                 {"level", level_of(owed)},
                 {"message", {{"text", message}}},
                 {"locations", Json::array({location_of(answer, owed.subject.at)})}};
  for (const Note& note : owed.notes) {
    if (!note.at) continue;
    Json related = location_of(answer, note.at);
    related["message"] = {{"text", note.text}};
    result["relatedLocations"].push_back(related);
  }
  if (owed.set_aside()) {
    // 3.35: set aside in the file itself, with the reason.
    result["suppressions"] = Json::array({{{"kind", "inSource"}, {"justification", owed.waived}}});
  }
  result["properties"] = {{"verdict", name_of(owed.verdict.value_or(Verdict::undecided))},
                          {"severity", name_of(owed.weight())},
                          {"subject", owed.subject.name}};
  return result;
}

// 3.58: errors of a file that could not be used are notifications of the tool, not results.
Json notification_of(const FileAnswer& answer, const ReadFault& fault) {
  const std::string text = fault.hint.empty() ? fault.what : fmt::format("{}\n{}", fault.what, fault.hint);
  return {
      {"level", "error"}, {"message", {{"text", text}}}, {"locations", Json::array({location_of(answer, fault.at)})}};
}

}  // namespace

std::string sarif_of(const std::vector<FileAnswer>& answers) {
  const auto list = all_rules();
  std::vector<const Rule*> rules(list.begin(), list.end());
  Json results = Json::array();
  Json notifications = Json::array();
  for (const FileAnswer& answer : answers) {
    if (answer.faults) {
      for (const ReadFault& fault : *answer.faults) notifications.push_back(notification_of(answer, fault));
    }
    if (!answer.judgement) continue;
    for (const Obligation& owed : answer.judgement->obligations) {
      if (owed.verdict == Verdict::holds) continue;
      Json result = result_of(answer, owed);
      if (owed.rule) {
        // By slug: it is the rule's id, which SARIF wants once (3.49.3).
        const auto known =
            std::find_if(rules.begin(), rules.end(), [&](const Rule* rule) { return rule->slug == owed.rule->slug; });
        result["ruleIndex"] = known - rules.begin();
        if (known == rules.end()) rules.push_back(owed.rule);
      }
      results.push_back(std::move(result));
    }
  }

  Json driver = {{"name", "loomproof"}, {"version", LOOMPROOF_VERSION}, {"rules", Json::array()}};
  for (const Rule* rule : rules) driver["rules"].push_back(rule_of(*rule));
  Json invocation = {{"executionSuccessful", notifications.empty()}};
  if (!notifications.empty()) invocation["toolExecutionNotifications"] = notifications;
  const Json document = {{"$schema", "https://json.schemastore.org/sarif-2.1.0.json"},
                         {"version", "2.1.0"},
                         {"runs", Json::array({{{"tool", {{"driver", driver}}},
                                                {"invocations", Json::array({invocation})},
                                                {"columnKind", "unicodeCodePoints"},
                                                {"results", results}}})}};
  return document.dump(2, ' ', true, Json::error_handler_t::replace) + "\n";
}

}  // namespace loomproof
