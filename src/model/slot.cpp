// Which attributes are sizes: what a lamp takes in watts is none.
#include "model/slot.h"

namespace loomproof {

bool is_sized_attribute(std::string_view kind, std::string_view attribute) {
  if (attribute == "carries") return true;
  if (attribute == "rated") return kind == "fuse" || kind == "breaker";
  if (attribute == "sense_fuse.rated") return kind == "pack";
  return kind == "resistor" && (attribute == "ohms" || attribute == "watts" || attribute == "pulse");
}

}  // namespace loomproof
