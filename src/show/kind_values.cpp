// Values that stand in a kind of part and are used because the part leaves them out.
#include "show/kind_values.h"

#include <algorithm>

namespace loomproof {
namespace {

/// What stands for the whole attribute; a range and a pair set two names below it and none of their own.
const Scalar* first_of(const Part& part, const AttributeRule& rule) {
  if (rule.form != Form::range && rule.form != Form::pair) return part.find(rule.name);
  const std::string below = rule.name + ".";
  const auto found = part.attributes.lower_bound(below);
  return found != part.attributes.end() && found->first.starts_with(below) ? &found->second : nullptr;
}

}  // namespace

std::vector<KindValue> kind_values(const Loom& loom) {
  std::vector<KindValue> out;
  for (const Part& part : loom.parts) {
    for (const AttributeRule& rule : loom.kind_of(part).attributes) {
      const Scalar* taken = rule.assumed.empty() ? nullptr : first_of(part, rule);
      if (taken == nullptr || !taken->assumed) continue;
      const auto same = std::find_if(
          out.begin(), out.end(), [&](const KindValue& v) { return v.kind == part.kind && v.attribute == rule.name; });
      if (same != out.end()) {
        same->parts.push_back(part.name);
      } else {
        out.push_back({part.kind, rule.name, rule.assumed, rule.source, {part.name}});
      }
    }
  }
  return out;
}

}  // namespace loomproof
