// The table of all rules, in the order of list.inc.
#include "rules/list.h"

#include <algorithm>

namespace loomproof {
namespace {

// Ends with a null so that the table is an array even while the list is empty; addresses only, so no start-up order.
constexpr const Rule* table[] = {
#define RULE(name) &name,
#include "rules/list.inc"
#undef RULE
    nullptr,
};

}  // namespace

std::span<const Rule* const> all_rules() {
  return {std::begin(table), std::size(table) - 1};
}

const Rule* find_rule(std::string_view slug) {
  const std::span<const Rule* const> rules = all_rules();
  const auto found = std::find_if(rules.begin(), rules.end(), [&](const Rule* rule) { return rule->slug == slug; });
  return found == rules.end() ? nullptr : *found;
}

}  // namespace loomproof
