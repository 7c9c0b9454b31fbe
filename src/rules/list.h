// The list of all rules: one constant a rule, each defined in the source that has its name.
#pragma once

#include <span>
#include <string_view>

#include "rules/ledger.h"

namespace loomproof {

struct Rule {
  std::string_view slug;
  Group group;
  Severity severity;
  std::string_view promise;  // one sentence: what holds when the rule holds
  void (*judge)(const Rule&, const Solved&, Ledger&);
};

#define RULE(name) extern const Rule name;
#include "rules/list.inc"
#undef RULE

std::span<const Rule* const> all_rules();
const Rule* find_rule(std::string_view slug);

}  // namespace loomproof
