// Look-ups in the catalogue that is compiled into the binary.
#include <algorithm>

#include "model/catalogue_table.h"
#include "model/kind.h"

namespace loomproof {

std::string_view find_catalogue_text(std::string_view kind) {
  const auto& table = catalogue_table();
  const auto found =
      std::lower_bound(table.begin(), table.end(), kind,
                       [](const CatalogueEntry& entry, std::string_view name) { return entry.name < name; });
  return found == table.end() || found->name != kind ? std::string_view() : found->text;
}

const std::vector<std::string_view>& catalogue_names() {
  static const std::vector<std::string_view> names = [] {
    std::vector<std::string_view> out;
    for (const CatalogueEntry& entry : catalogue_table()) out.push_back(entry.name);
    return out;
  }();
  return names;
}

}  // namespace loomproof
