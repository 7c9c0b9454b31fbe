// Any loom through every rule, and the three forms of the answer.
#include <cmath>
#include <string>

#include <nlohmann/json.hpp>

#include "bounded.h"
#include "show/show.h"
#include "targets.h"

namespace loomproof::fuzz {
namespace {

void check_obligation(const Obligation& owed) {
  promise(owed.verdict.has_value(), "every obligation ends in a verdict", owed.subject.name);
  promise(*owed.verdict == Verdict::holds || !owed.what.empty(), "a finding says what it is", owed.subject.name);
  promise(owed.what.find("came to no verdict") == std::string::npos, "every rule comes to a verdict", owed.what);
  if (!owed.figure) return;
  promise(!std::isnan(owed.figure->used), "a figure is a number", owed.what);
  promise(owed.figure->value.find("undefined") == std::string::npos, "a figure is a number", owed.what);
  if (*owed.verdict == Verdict::holds && owed.figure->used > 1.0001) fail("what holds is within its limit", owed.what);
}

}  // namespace

void check(std::string_view bytes) {
  const std::unique_ptr<Bounded> bounded = judged_within(bytes);
  if (!bounded) return;
  const Loom& loom = *bounded->read.loom;
  const Judgement& judgement = *bounded->judgement;
  for (const Obligation& owed : judgement.obligations) check_obligation(owed);
  promise(judgement.coverage.situations_covered <= judgement.coverage.situations_possible,
          "no more is covered than there is");
  promise(is_harmless(text_of(loom, judgement, {}), true), "the text cannot command a terminal",
          text_of(loom, judgement, {}));
  const std::vector<FileAnswer> answers{{"fuzzed.yaml", &loom, &judgement, &bounded->read.faults, nullptr}};
  const auto json = nlohmann::json::parse(json_of(answers), nullptr, false);
  promise(!json.is_discarded(), "the JSON parses", json_of(answers));
  const auto sarif = nlohmann::json::parse(sarif_of(answers), nullptr, false);
  promise(!sarif.is_discarded(), "the SARIF parses", sarif_of(answers));
}

}  // namespace loomproof::fuzz
