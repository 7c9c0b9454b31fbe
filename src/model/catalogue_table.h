// The catalogue's entries as the build compiled them in; model/kind.h has the look-ups.
#pragma once

#include <string_view>
#include <vector>

namespace loomproof {

struct CatalogueEntry {
  std::string_view name;
  std::string_view text;
};

/// Sorted by name. Defined in a source that the build writes from src/model/catalogue/*.yaml.
const std::vector<CatalogueEntry>& catalogue_table();

}  // namespace loomproof
