// Which attributes are sizes.
#include "model/slot.h"

#include <algorithm>
#include <array>

namespace loomproof {

bool is_sized_attribute(std::string_view attribute) {
  constexpr std::array<std::string_view, 6> sized{"rated", "sense_fuse.rated", "carries", "ohms", "watts", "pulse"};
  return std::find(sized.begin(), sized.end(), attribute) != sized.end();
}

}  // namespace loomproof
