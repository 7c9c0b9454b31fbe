// `must:` and `waive:`: requirements that the user adds, and findings that he sets aside with a reason.
#include <fmt/core.h>

#include <algorithm>

#include "read/expect.h"
#include "read/keys.h"
#include "read/sections.h"
#include "units/quote.h"

namespace loomproof {
namespace {

std::vector<std::string_view> outputs_of(const Kind& kind) {
  std::vector<std::string_view> out;
  for (const PrimitiveRule& rule : kind.inside) {
    if (rule.type == "output") out.push_back(rule.name);
  }
  return out;
}

void read_output(View node, Must& must, Loom& loom, Names& names, Faults& faults) {
  const std::string_view text = node.text();
  const std::size_t dot = text.find('.');
  const auto part = names.part(text.substr(0, dot), node.at());
  if (!part) return;
  const Part& p = loom.part(*part);
  const std::vector<std::string_view> known = outputs_of(loom.kind_of(p));
  const std::string_view output = dot == std::string_view::npos ? std::string_view() : text.substr(dot + 1);
  if (std::find(known.begin(), known.end(), output) != known.end()) {
    must.output.emplace(*part, std::string(output));
    return;
  }
  std::string hint = faults.near(output, known);
  if (hint.empty() && !known.empty()) hint = fmt::format("it has {}", listed(known));
  if (hint.empty()) hint = "for a voltage write {live: part.terminal}";
  faults.add(node.at(), fmt::format("part {} has no output {}", quoted(p.name), quoted(output)), std::move(hint));
}

void read_what(View node, Must& must, Loom& loom, Names& names, Faults& faults) {
  constexpr std::string_view form = "an output such as drive.torque, or {live: part.terminal}";
  if (node.is_text()) return read_output(node, must, loom, names, faults);
  if (!expect_map(node, form, faults)) return;
  for (const Entry e : node.entries()) {
    if (e.key.text() == "live") {
      must.live = names.terminal(e.value);
    } else {
      unknown_key(e.key, "a requirement", keys::must_what, faults);
    }
  }
  if (node.entries().empty()) faults.add(node.at(), fmt::format("expected {}, found an empty map", form));
}

}  // namespace

void read_musts(View section, Loom& loom, Names& names, Faults& faults) {
  if (!expect_map(section, "requirements by name", faults, true)) return;
  for (const Entry e : section.entries()) {
    if (!check_name(e.key, "a requirement", faults)) continue;
    if (!expect_map(e.value, "a requirement such as {when: {key: off}, never: drive.torque}", faults)) continue;
    Must must;
    must.name = e.key.text();
    must.at = e.key.at();
    int verdicts = 0;
    for (const Entry field : e.value.entries()) {
      const std::string_view k = field.key.text();
      if (k == "when") {
        must.when = names.positions(field.value);
      } else if (k == "never" || k == "always") {
        ++verdicts;
        must.never = k == "never";
        read_what(field.value, must, loom, names, faults);
      } else {
        unknown_key(field.key, "a requirement", keys::must, faults);
      }
    }
    if (verdicts != 1) {
      faults.add(must.at, fmt::format("requirement {} needs one of 'never' and 'always'", quoted(must.name)));
    }
    loom.musts.push_back(std::move(must));
  }
}

void read_waivers(View section, Loom& loom, Faults& faults) {
  if (section.is_empty()) return;
  if (!section.is_list()) {
    faults.add(section.at(), fmt::format("expected a list of waivers, found {}", section.shape_name()),
               "write - {rule: wire-drop, subject: W4, reason: why it may stay}");
    return;
  }
  for (const View item : section.items()) {
    if (!expect_map(item, "a waiver such as {rule: wire-drop, subject: W4, reason: why it may stay}", faults)) continue;
    Waiver waiver;
    waiver.at = item.at();
    bool has_reason = false;
    for (const Entry field : item.entries()) {
      const std::string_view k = field.key.text();
      if (k == "rule") {
        waiver.rule = expect_text(field.value, "a rule's name", faults).value_or("");
      } else if (k == "subject") {
        waiver.subject = expect_text(field.value, "the name of a wire, part or requirement", faults).value_or("");
        if (waiver.subject.empty()) {
          faults.add(field.value.at(), "an empty subject would waive the rule everywhere",
                     "leave 'subject' out if that is meant");
        }
      } else if (k == "reason") {
        has_reason = true;
        waiver.reason = expect_text(field.value, "a reason in words", faults).value_or("");
        if (waiver.reason.find_first_not_of(" \t\n") == std::string::npos) {
          faults.add(field.value.at(), "a waiver with an empty reason", "write why the finding may stay");
        }
      } else {
        unknown_key(field.key, "a waiver", keys::waiver, faults);
      }
    }
    if (waiver.rule.empty()) faults.add(waiver.at, "a waiver that names no rule", "write rule: and the rule's name");
    if (!has_reason) faults.add(waiver.at, "a waiver without a reason", "write reason: and why the finding may stay");
    loom.waivers.push_back(std::move(waiver));
  }
}

}  // namespace loomproof
