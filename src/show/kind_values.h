// Values that stand in a kind of part and are used because the part leaves them out.
#pragma once

#include <string>
#include <vector>

#include "model/loom.h"

namespace loomproof {

struct KindValue {
  std::string kind, attribute, value, source;  // source may be empty: the kind names none
  std::vector<std::string> parts;              // that take it
};

/// One entry for each attribute of each kind that some part leaves out, in the order of the parts.
std::vector<KindValue> kind_values(const Loom&);

}  // namespace loomproof
