// Look-up inside a kind.
#include "model/kind.h"

#include <algorithm>

namespace loomproof {

const AttributeRule* Kind::find_attribute(std::string_view attribute) const {
  const auto found = std::find_if(attributes.begin(), attributes.end(),
                                  [&](const AttributeRule& rule) { return rule.name == attribute; });
  return found == attributes.end() ? nullptr : &*found;
}

}  // namespace loomproof
