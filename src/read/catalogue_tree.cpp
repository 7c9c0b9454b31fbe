// Look-up among the parsed entries.
#include "read/catalogue_tree.h"

#include <algorithm>

namespace loomproof {

std::optional<View> find_catalogue_tree(std::string_view kind) {
  const auto trees = catalogue_trees();
  const auto found =
      std::lower_bound(trees.begin(), trees.end(), kind,
                       [](const CatalogueTree& tree, std::string_view name) { return tree.name < name; });
  if (found == trees.end() || found->name != kind) return std::nullopt;
  return View(found->nodes, 0);
}

}  // namespace loomproof
